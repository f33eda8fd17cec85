"""Hammer-ons, pull-offs and slides whose two notes came to stand on two strings.

Such a sign is of one string: the finger, or the hand, stays on it. Where the notes have been placed
otherwise, both ends of the sign are dropped, and the log says so.
"""

from __future__ import annotations

from dataclasses import replace

from variants.score import Change, Event, Note, Part, Score, Voice, timeline, with_notes, with_parts
from variants.steps.framework.log import scribe
from variants.steps.lines.links import MarkKey, marks_of, span_links

# Families and names of the signs that tie two notes to one string.
ON_ONE_STRING = frozenset({"hammer-on", "pull-off", "slide", "glissando"})
_WORDS = {"hammer-on": "a hammer-on", "pull-off": "a pull-off", "slide": "a slide"}


def without_jumps(score: Score, *, step: str) -> Score:
    """Return the score without signs of one string between notes on two.

    A sign of which a note has no place yet is left as it is.

    Args:
        score: The score, placed.
        step: Name for the change log.
    """
    parts, changes = [], []
    for part in score.parts:
        done, lines = _part(score, part, step)
        parts.append(done)
        changes += lines
    return with_parts(score, parts, changes) if changes else score


def _part(score: Score, part: Part, step: str) -> tuple[Part, list[Change]]:
    gone: set[MarkKey] = set()
    lines: list[Change] = []
    known = timeline(part).by_key
    if not any(
        mark.name in ON_ONE_STRING for event in known.values() for _, _, mark in marks_of(event)
    ):
        return part, []
    log = scribe(step, score, part)
    for span in span_links(part):
        key, owner, place = span[0]
        event = known[key]
        mark = (event.marks if owner < 0 else event.notes[owner].marks)[place]
        if mark.name not in ON_ONE_STRING:
            continue
        strings = [_string(known[k], o) for k, o, _ in span]
        if None in strings or len(set(strings)) == 1:
            continue
        gone.update(span)
        what = _WORDS.get(mark.name, f"a {mark.name}")
        lines.append(
            log.at(
                key[0],
                event.onset,
                f"{what} was dropped: its notes are on strings {strings[0]} and {strings[-1]}",
            )
        )
    return (_without(part, gone), lines) if gone else (part, [])


def _string(event: Event, owner: int) -> int | None:
    notes = event.notes if owner < 0 else event.notes[owner : owner + 1]
    places = [note.place for note in notes]
    return places[0].string if len(places) == 1 and places[0] is not None else None


def _without(part: Part, gone: set[MarkKey]) -> Part:
    measures = tuple(
        replace(
            measure,
            voices=tuple(
                Voice(
                    voice.id,
                    tuple(_event((m, v, e), event, gone) for e, event in enumerate(voice.events)),
                )
                for v, voice in enumerate(measure.voices)
            ),
        )
        for m, measure in enumerate(part.measures)
    )
    return replace(part, measures=measures)


def _event(key: tuple[int, int, int], event: Event, gone: set[MarkKey]) -> Event:
    if not any(one[0] == key for one in gone):
        return event
    notes = tuple(_note(key, owner, note, gone) for owner, note in enumerate(event.notes))
    marks = tuple(m for place, m in enumerate(event.marks) if (key, -1, place) not in gone)
    return replace(with_notes(event, notes), marks=marks)


def _note(key: tuple[int, int, int], owner: int, note: Note, gone: set[MarkKey]) -> Note:
    marks = tuple(m for place, m in enumerate(note.marks) if (key, owner, place) not in gone)
    return note if marks == note.marks else replace(note, marks=marks)
