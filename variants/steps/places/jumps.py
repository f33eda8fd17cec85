"""Hammer-ons, pull-offs and slides whose two notes came to stand otherwise.

Such a sign is of one string: the finger, or the hand, stays on it. Where the notes have been placed
on two, both ends of the sign are dropped. A hammer-on goes up and a pull-off down: where a step has
turned their notes round, the one becomes the other. The log says so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace

from variants.music.pitch import Alteration
from variants.score import (
    Change,
    Event,
    EventKey,
    Mark,
    Part,
    Score,
    map_keyed,
    timeline,
    with_notes,
    with_parts,
)
from variants.steps.framework.log import Scribe, scribe
from variants.steps.lines.links import MarkKey, marks_of, span_links

# Families and names of the signs that tie two notes to one string.
ON_ONE_STRING = frozenset({"hammer-on", "pull-off", "slide", "glissando"})
_TURNED = {"hammer-on": ("pull-off", "P"), "pull-off": ("hammer-on", "H")}
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
    gone: dict[MarkKey, Mark | None] = {}
    lines: list[Change] = []
    log = scribe(step, score, part)
    known = timeline(part).by_key
    for span, mark, event in _signs(part, known):
        strings = [_string(known[key], owner) for key, owner, _ in span]
        if None in strings or len(set(strings)) == 1:
            continue
        gone |= dict.fromkeys(span)
        why = f"its notes are on strings {strings[0]} and {strings[-1]}"
        text = f"{_WORDS.get(mark.name, f'a {mark.name}')} was dropped: {why}"
        lines.append(log.at(span[0][0][0], event.onset, text))
    return (_with(part, gone), lines) if gone else (part, [])


def turned(part: Part, log: Scribe) -> tuple[Part, list[Change]]:
    """Return the part with hammer-ons that fall as pull-offs, and the other way round.

    Where the two notes are the same now, the sign goes.
    """
    new: dict[MarkKey, Mark | None] = {}
    lines: list[Change] = []
    known = timeline(part).by_key
    for span, mark, event in _signs(part, known):
        first, last = (_height(known[key], owner) for key, owner, _ in (span[0], span[-1]))
        if mark.name not in _TURNED or first is None or last is None:
            continue
        rise = last - first if mark.name == "hammer-on" else first - last
        if rise > 0:
            continue
        other, letter = _TURNED[mark.name]
        if rise:
            new |= {key: _renamed(_mark(known, key), other, letter) for key in span}
            text = f"{_WORDS[mark.name]} is {_WORDS[other]} now: its notes have changed places"
        else:
            new |= dict.fromkeys(span)
            text = f"{_WORDS[mark.name]} was dropped: its two notes are the same now"
        lines.append(log.at(span[0][0][0], event.onset, text))
    return (_with(part, new), lines) if new else (part, [])


_Known = Mapping[EventKey, Event]


def _signs(part: Part, known: _Known) -> Iterator[tuple[tuple[MarkKey, ...], Mark, Event]]:
    """Yield the signs of one string: their ends, the mark at the first, and its event."""
    if any(mark.name in ON_ONE_STRING for event in known.values() for *_, mark in marks_of(event)):
        for span in span_links(part):
            mark = _mark(known, span[0])
            if mark.name in ON_ONE_STRING:
                yield span, mark, known[span[0][0]]


def _mark(known: _Known, key: MarkKey) -> Mark:
    event_key, owner, place = key
    event = known[event_key]
    return (event.marks if owner < 0 else event.notes[owner].marks)[place]


def _renamed(mark: Mark, name: str, letter: str) -> Mark:
    xml = mark.xml.replace(mark.name, name).replace(f">{_TURNED[name][1]}<", f">{letter}<")
    family = name if mark.family == mark.name else mark.family
    return replace(mark, family=family, name=name, xml=xml)


def _height(event: Event, owner: int) -> Alteration | None:
    notes = event.notes if owner < 0 else event.notes[owner : owner + 1]
    pitches = [note.pitch for note in notes]
    return pitches[0].semitones if len(pitches) == 1 and pitches[0] is not None else None


def _string(event: Event, owner: int) -> int | None:
    notes = event.notes if owner < 0 else event.notes[owner : owner + 1]
    places = [note.place for note in notes]
    return places[0].string if len(places) == 1 and places[0] is not None else None


def _with(part: Part, new: Mapping[MarkKey, Mark | None]) -> Part:
    """Return the part with other marks in the place of some; ``None``: it goes."""
    touched = {key[0] for key in new}
    return map_keyed(part, lambda key, event: _event(key, event, new) if key in touched else event)


def _event(key: EventKey, event: Event, new: Mapping[MarkKey, Mark | None]) -> Event:
    def marks(owner: int, old: tuple[Mark, ...]) -> tuple[Mark, ...]:
        found = (new.get((key, owner, place), mark) for place, mark in enumerate(old))
        return tuple(mark for mark in found if mark is not None)

    notes = (replace(note, marks=marks(n, note.marks)) for n, note in enumerate(event.notes))
    return replace(with_notes(event, tuple(notes)), marks=marks(-1, event.marks))
