"""Exercise pages made from a version, and the pages with their answers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from variants.errors import Refusal, UsageError
from variants.marks import apply_marks
from variants.music import Pitch
from variants.score import (
    Attributes,
    Clef,
    Event,
    Extra,
    Lyric,
    Measure,
    Note,
    Part,
    Place,
    Score,
    map_events,
    map_notes,
    notes,
    with_parts,
)
from variants.sheets.cuts import phrase_measures
from variants.sheets.engraver_xml import Wants
from variants.sheets.exercise_pictures import Asked, finding, matching
from variants.sheets.facts import main_part, signed
from variants.sheets.handout import Sheet, Version
from variants.sheets.lettering import BLANK
from variants.steps.measures import cut_measures

# Where a staff of one line has its notes.
_UNPITCHED = (
    "<unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>"
)
_ONE_LINE = "<staff-details><staff-lines>1</staff-lines></staff-details>"
# Signs of pitch have no place on a rhythm line.
_KEPT_MARKS = frozenset({"tuplet", "tied", "fermata"})


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of exercise.

    Args:
        title: Its name on the page.
        instruction: What is asked of the pupil.
        make: Makes it, and its answer, of a score.
        needs_places: Whether it is about places on the neck.
        most_lines: Most lines of music: a page of tab to write, half a page of names or counts.
    """

    title: str
    instruction: str
    make: Callable[[Score], tuple[Asked, Asked]]
    needs_places: bool = False
    most_lines: int = 3


def exercise(version: Version, kind: str, others: Sequence[Version] = ()) -> tuple[Sheet, Sheet]:
    """Return an exercise and its answer, made of as many measures as one page holds.

    Args:
        version: The version that it is made from.
        kind: One of `EXERCISES`.
        others: Further versions of the piece, among which ``match`` lets the pupil find.

    Raises:
        UsageError: There is no such exercise.
        Refusal: The version has nothing to ask: no tab, no line for one string.
    """
    if kind not in KINDS:
        raise UsageError(f"there is no exercise {kind!r}", way_out=f"use {', '.join(KINDS)}")
    chosen = KINDS[kind]
    if chosen.needs_places:
        _need_places(version.score)
    if kind == "match":
        asked, answered = matching([version.score, *(one.score for one in others)])
    else:
        asked, answered = chosen.make(_passage(version.score, chosen.most_lines))
    plain = replace(version, practises=())
    return _sheet(plain, "exercise", chosen, asked), _sheet(plain, "answer", chosen, answered)


def _sheet(version: Version, role: str, kind: Kind, asked: Asked) -> Sheet:
    return Sheet(
        kind=role,
        score=asked.score,
        staves=asked.staves,
        subtitle=kind.title + asked.where,
        instruction=kind.instruction if role == "exercise" else "",
        wants=asked.wants,
        version=version,
        pictures=asked.pictures,
    )


def _passage(score: Score, most_lines: int) -> Score:
    """Return the first measures of a score, to a phrase end, that fit some lines.

    Two measures stand on such a line, or one of many notes.
    """
    part = main_part(score)
    lines, fit, on_line, notes = 1, 0, 0, 0
    for measure in part.measures:
        moments = {e.onset for v in measure.voices for e in v.events if e.notes}
        if on_line and (on_line == 2 or notes + len(moments) > _NOTES_ON_LINE):
            lines, on_line, notes = lines + 1, 0, 0
        if lines > most_lines:
            break
        on_line, notes, fit = on_line + (not measure.is_implicit), notes + len(moments), fit + 1
    count = len(part.measures)
    if fit >= count:
        return score
    ends = [one for one in phrase_measures(score) if 0.75 * fit <= one <= fit]
    return cut_measures(score, tuple(range(max(ends, default=max(1, fit)))), step="sheet")[0]


def _need_places(score: Score) -> None:
    part = main_part(score)
    if part.instrument is None or not any(note.place is not None for note in notes(part)):
        raise Refusal(
            "there is no tab to write",
            place=part.name or part.id,
            way_out="finger the piece first (neckwise finger), or choose another exercise",
        )


def _only(score: Score, part: Part) -> Score:
    return with_parts(score, [part])


def _fill_tab(score: Score) -> tuple[Asked, Asked]:
    part = map_notes(map_events(main_part(score), _without_ours), _without_pluck)
    return _tab_of(_only(score, part))


def _tab_of(score: Score, where: str = "") -> tuple[Asked, Asked]:
    """Return an empty tab under the notes, and the full one."""
    bare = Wants(fingers=False, words=False, empty_tab=True)
    return Asked(score, "both", bare, where), Asked(score, "both", Wants(), where)


def _draw_tab(score: Score) -> tuple[Asked, Asked]:
    """Return the tab of one string: the run of measures that one string can play, the longest."""
    part = map_notes(map_events(main_part(score), _without_ours), _without_pluck)
    instrument = part.instrument
    if instrument is None:
        _need_places(score)
        raise AssertionError
    runs = []
    for string, lowest in enumerate(instrument.open_strings, 1):
        fits = [_on_string(one, lowest) for one in part.measures]
        for first in range(len(fits)):
            last = next((at for at in range(first, len(fits)) if not fits[at]), len(fits))
            runs.append((last - first, -string, -first))
    most, string, first = max(runs, default=(0, 0, 0))
    if not most:
        raise Refusal(
            "no string can play a measure of it alone",
            place=part.name or part.id,
            way_out="choose another exercise, or a version of single notes",
        )
    cut, _ = cut_measures(_only(score, part), tuple(range(-first, -first + most)), step="sheet")
    lowest = instrument.open_strings[-string - 1]

    def placed(note: Note) -> Note:
        if note.pitch is None:
            return note
        fret = note.pitch.midi - lowest.midi - instrument.capo
        return replace(note, place=Place(-string, fret), finger="")

    moved = with_parts(cut, [map_notes(cut.parts[0], placed)])
    name = signed(f"{lowest.letter}{ {1: '#', -1: 'b'}.get(int(lowest.alter), '') }")
    return _tab_of(moved, f": string {-string}, {name}")


def _on_string(measure: Measure, lowest: Pitch) -> bool:
    """Whether one string can play a measure, one note at a time, below the octave."""
    events = [event for voice in measure.voices for event in voice.events if event.notes]
    voices = [voice for voice in measure.voices if any(event.notes for event in voice.events)]
    return (
        len(voices) == 1
        and all(len(event.notes) == 1 and event.grace is None for event in events)
        and all(
            note.pitch is not None and 0 <= note.pitch.midi - lowest.midi <= _HIGHEST_FRET
            for event in events
            for note in event.notes
        )
    )


def _complete(score: Score) -> tuple[Asked, Asked]:
    """Return measures that lack one note each, of those that a pupil can tell from the others."""
    part = map_notes(map_events(main_part(score), _without_ours), _without_pluck)
    hidden = {
        (index, gap) for index, one in enumerate(part.measures) if (gap := _gap(one)) is not None
    }
    if not hidden:
        raise Refusal(
            "no measure has a note that can be left out",
            place=part.name or part.id,
            way_out="choose another exercise",
        )
    alone = _only(score, part)
    full = Wants(fingers=False, words=False)
    asked = replace(full, hidden=frozenset(hidden))
    return Asked(alone, "notation", asked), Asked(alone, "notation", full)


def _gap(measure: Measure) -> int | None:
    """Return the tick of the last note that may be left out; ``None`` for no such note."""
    voices = [voice for voice in measure.voices if voice.events]
    if len(voices) != 1 or measure.is_implicit:
        return None
    plain = [
        event
        for event in voices[0].events
        if event.notes
        and event.grace is None
        and event.value.type in _UNBEAMED
        and event.value.actual == 1
        and not any(note.tie_start or note.tie_stop for note in event.notes)
        and not any(mark.family == "slur" for mark in event.marks)
    ]
    return plain[-1].onset if plain and len(voices[0].events) > 1 else None


def _counts(score: Score) -> tuple[Asked, Asked]:
    """Return the notes with lines for the counting, held and silent beats too."""
    part = map_notes(map_events(main_part(score), _without_lyrics), _without_pluck)
    alone = _only(score, replace(part, measures=tuple(map(_first_voice, part.measures))))
    return _lines_under(apply_marks(alone, {}, "counting"), "notation")


def _first_voice(measure: Measure) -> Measure:
    return replace(measure, voices=measure.voices[:1])


def _lines_under(score: Score, staves: str) -> tuple[Asked, Asked]:
    """Return a line to write on for each text under the notes, and the texts."""
    wants = Wants(fingers=False, words=False)
    blank = with_parts(score, [map_events(one, _blank) for one in score.parts])
    return Asked(blank, staves, replace(wants, writing=True)), Asked(score, staves, wants)


def _fill_notes(score: Score) -> tuple[Asked, Asked]:
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
        Asked(with_parts(score, [tab, empty]), "source", wants),
        Asked(with_parts(score, [tab, below]), "source", full),
    )


def _name_notes(score: Score) -> tuple[Asked, Asked]:
    part = map_notes(map_events(main_part(score), _without_lyrics), _without_pluck)
    return _lines_under(apply_marks(_only(score, part), {}, "names"), "notation")


def _clap(score: Score) -> tuple[Asked, Asked]:
    bare = map_events(main_part(score), _without_lyrics)
    first = replace(bare, measures=tuple(map(_first_voice, bare.measures)))
    counted = apply_marks(_only(score, first), {}, "counting")
    return _lines_under(with_parts(counted, [_rhythm(one) for one in counted.parts]), "source")


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


# Two measures of eighths on a line, or one of sixteenths.
_NOTES_ON_LINE = 16
# The octave of the open string.
_HIGHEST_FRET = 12
# A note with flags may be beamed to others, which a pupil would see.
_UNBEAMED = frozenset({"whole", "half", "quarter"})
KINDS = {
    "fill-tab": Kind(
        "From notes to tab",
        "Write the fret numbers on the empty tab, one for each note above it.",
        _fill_tab,
        needs_places=True,
    ),
    "fill-notes": Kind(
        "From tab to notes",
        "Write the notes on the empty staff. The tab above says where they are played.",
        _fill_notes,
        needs_places=True,
    ),
    "name-notes": Kind(
        "Note names", "Write the name of each note on the line below it.", _name_notes
    ),
    "clap": Kind(
        "Rhythm",
        "Clap the rhythm and count aloud. Then write what you counted on the lines: held beats in "
        "[ ], silent beats in ( ).",
        _clap,
    ),
    "counts": Kind(
        "Counting",
        "Write the counts on the lines: held beats in [ ], silent beats in ( ).",
        _counts,
    ),
    "find-notes": Kind(
        "Notes on the neck",
        "Draw a ring on the neck where each note is played.",
        finding,
        needs_places=True,
    ),
    "draw-tab": Kind(
        "One string",
        "Write the tab so that every note is played on the string that is named.",
        _draw_tab,
    ),
    "complete": Kind(
        "Complete the measure",
        "Some measures lack a note. Write one that makes the measure full.",
        _complete,
    ),
    "match": Kind(
        "Music and neck",
        "Which neck shows the places of which music? Write its letter on the line.",
        finding,
        needs_places=True,
    ),
}
EXERCISES = tuple(KINDS)


def exercises(
    version: Version,
    kinds: Sequence[str],
    *,
    answers: bool = False,
    others: Sequence[Version] = (),
) -> list[Sheet]:
    """Return the sheets of several exercises; the answers, if asked for, after all of them.

    Args:
        version: The version that they are made from.
        kinds: Which, by their names.
        answers: Whether answers are made too.
        others: Further versions of the piece, for ``match``.

    Raises:
        UsageError: There is no such exercise, or answers are asked for without an exercise.
        Refusal: The version has nothing to ask.
    """
    if answers and not kinds:
        raise UsageError("there is nothing to answer", way_out="name an exercise (--exercise)")
    pairs = [exercise(version, kind, others) for kind in dict.fromkeys(kinds)]
    return [asked for asked, _ in pairs] + [answer for _, answer in pairs if answers]
