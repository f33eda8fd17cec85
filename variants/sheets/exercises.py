"""Exercise pages made from a version, and the pages with their answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from variants.errors import Refusal, UsageError
from variants.marks import apply_marks
from variants.score import (
    Attributes,
    Clef,
    Event,
    Extra,
    Lyric,
    Note,
    Part,
    Score,
    map_events,
    map_notes,
    with_parts,
)
from variants.sheets.engraver_xml import Wants
from variants.sheets.facts import main_part
from variants.sheets.handout import Sheet, Version
from variants.sheets.lettering import BLANK

# What is asked of the pupil, by the name of the exercise.
INSTRUCTIONS = {
    "fill-tab": "Write the fret numbers on the empty tab, one for each note above it.",
    "fill-notes": "Write the notes on the empty staff. The tab above says where they are played.",
    "name-notes": "Write the name of each note on the line below it.",
    "clap": "Clap the rhythm and count aloud. Then write what you counted on the lines.",
}
EXERCISES = tuple(INSTRUCTIONS)
# Where a staff of one line has its notes.
_UNPITCHED = (
    "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
)
_ONE_LINE = "<staff-details><staff-lines>1</staff-lines></staff-details>"
# Signs of pitch have no place on a rhythm line.
_KEPT_MARKS = frozenset({"tuplet", "tied", "fermata"})


def exercise(version: Version, kind: str) -> tuple[Sheet, Sheet]:
    """Return an exercise and its answer.

    Args:
        version: The version that it is made from.
        kind: ``fill-tab``, ``fill-notes``, ``name-notes`` or ``clap``.

    Raises:
        UsageError: There is no such exercise.
        Refusal: The version has no tab to fill in.
    """
    if kind not in INSTRUCTIONS:
        raise UsageError(f"there is no exercise {kind!r}", way_out=f"use {', '.join(INSTRUCTIONS)}")
    if kind in ("fill-tab", "fill-notes"):
        _need_places(version.score)
    make = {
        "fill-tab": _fill_tab,
        "fill-notes": _fill_notes,
        "name-notes": _name_notes,
        "clap": _clap,
    }[kind]
    asked, answered = make(version.score)
    plain = replace(version, practises=())
    return (
        _sheet(plain, "exercise", kind, asked),
        _sheet(plain, "answer", kind, answered),
    )


_Made = tuple[Score, str, Wants]


def _sheet(version: Version, role: str, kind: str, made: _Made) -> Sheet:
    score, staves, wants = made
    titles = {
        "fill-tab": "From notes to tab",
        "fill-notes": "From tab to notes",
        "name-notes": "Note names",
        "clap": "Rhythm",
    }
    return Sheet(
        kind=role,
        score=score,
        staves=staves,
        subtitle=titles[kind],
        instruction=INSTRUCTIONS[kind] if role == "exercise" else "",
        wants=wants,
        version=version,
    )


def _need_places(score: Score) -> None:
    part = main_part(score)
    placed = (
        note.place is not None
        for measure in part.measures
        for voice in measure.voices
        for event in voice.events
        for note in event.notes
    )
    if part.instrument is None or not any(placed):
        raise Refusal(
            "there is no tab to write",
            place=part.name or part.id,
            way_out="finger the piece first (neckwise finger), or choose another exercise",
        )


def _only(score: Score, part: Part) -> Score:
    return with_parts(score, [part])


def _fill_tab(score: Score) -> tuple[_Made, _Made]:
    part = map_events(main_part(score), _without_ours)
    alone = _only(score, part)
    asked = Wants(fingers=False, words=False, empty_tab=True)
    return (alone, "both", asked), (alone, "both", Wants())


def _fill_notes(score: Score) -> tuple[_Made, _Made]:
    part = map_notes(map_events(main_part(score), _without_ours), _without_pluck)
    tab = replace(part, layout="tab", name="", abbreviation="")
    below = replace(part, id=f"{part.id}-staff", layout="notation", name="", abbreviation="")
    below = replace(
        below,
        measures=tuple(replace(one, harmonies=(), directions=()) for one in below.measures),
    )
    empty = replace(below, measures=tuple(replace(one, voices=()) for one in below.measures))
    wants = Wants(fingers=False, words=False, empty_parts=frozenset({1}))
    full = Wants(fingers=False, words=False)
    return (
        (with_parts(score, [tab, empty]), "source", wants),
        (with_parts(score, [tab, below]), "source", full),
    )


def _name_notes(score: Score) -> tuple[_Made, _Made]:
    part = map_notes(map_events(main_part(score), _without_lyrics), _without_pluck)
    named = apply_marks(_only(score, part), {}, "names")
    asked = with_parts(named, [map_events(one, _blank) for one in named.parts])
    wants = Wants(fingers=False, words=False)
    return (asked, "notation", replace(wants, writing=True)), (named, "notation", wants)


def _clap(score: Score) -> tuple[_Made, _Made]:
    part = main_part(score)
    bare = map_events(part, _without_lyrics)
    first = replace(
        bare,
        measures=tuple(replace(one, voices=one.voices[:1]) for one in bare.measures),
    )
    counted = apply_marks(_only(score, first), {}, "counting=no-held+no-rests")
    clapped = with_parts(counted, [_rhythm(one) for one in counted.parts])
    asked = with_parts(clapped, [map_events(one, _blank) for one in clapped.parts])
    wants = Wants(fingers=False, words=False)
    return (asked, "source", replace(wants, writing=True)), (clapped, "source", wants)


def _rhythm(part: Part) -> Part:
    """Return a part as a rhythm on one line."""
    measures = []
    for index, measure in enumerate(part.measures):
        changes = tuple(
            replace(change, keys=(), clefs=(), transpositions=(), instrument=None, details=())
            for change in measure.attributes
        )
        if index == 0:
            first = next((one for one in changes if one.onset == 0), Attributes(0))
            rest = tuple(one for one in changes if one is not first)
            clef = Clef("percussion")
            changes = (replace(first, clefs=(clef,), details=(_ONE_LINE,)), *rest)
        plain = replace(measure, attributes=changes, harmonies=())
        measures.append(plain)
    rhythm = replace(part, measures=tuple(measures), instrument=None, layout="", staves=1)
    return map_events(rhythm, _beat)


def _beat(event: Event) -> Event:
    if not event.notes:
        return event
    notes = event.notes
    held = all(note.tie_stop for note in notes)
    goes_on = all(note.tie_start for note in notes)
    note = Note(None, tie_stop=held, tie_start=goes_on, extras=(Extra("unpitched", _UNPITCHED),))
    marks = tuple(mark for mark in event.marks if mark.family in _KEPT_MARKS)
    return replace(event, notes=(note,), marks=marks, stem="up")


def _without_pluck(note: Note) -> Note:
    return replace(note, pluck="") if note.pluck else note


def _without_lyrics(event: Event) -> Event:
    return replace(event, lyrics=()) if event.lyrics else event


def _without_ours(event: Event) -> Event:
    """Leave out the lines that we wrote; they would give the answer away."""
    if not any(lyric.name for lyric in event.lyrics):
        return event
    return replace(event, lyrics=tuple(one for one in event.lyrics if not one.name))


def _blank(event: Event) -> Event:
    if not event.lyrics:
        return event
    return replace(event, lyrics=tuple(map(_empty, event.lyrics)))


def _empty(lyric: Lyric) -> Lyric:
    xml = f"<syllabic>single</syllabic><text>{BLANK}</text>"
    return replace(lyric, text=BLANK, xml=xml)


def exercises(version: Version, kinds: Sequence[str], *, answers: bool = False) -> list[Sheet]:
    """Return the sheets of several exercises; the answers, if asked for, after all of them.

    Raises:
        UsageError: There is no such exercise, or answers are asked for without an exercise.
        Refusal: The version has no tab to fill in.
    """
    if answers and not kinds:
        raise UsageError("there is nothing to answer", way_out="name an exercise (--exercise)")
    pairs = [exercise(version, kind) for kind in dict.fromkeys(kinds)]
    return [asked for asked, _ in pairs] + [answer for _, answer in pairs if answers]
