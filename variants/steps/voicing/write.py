"""Puts new voicings into the events of a part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from variants.score import (
    Change,
    Event,
    EventKey,
    Part,
    map_keyed,
    map_notes,
    timeline,
    without_places,
)
from variants.score.survey import shares_more_strings
from variants.steps.framework.log import Scribe, count
from variants.steps.voicing.voicings import Voiced


def with_voicings(
    part: Part, voicings: Mapping[EventKey, Voiced], log: Scribe, *, set_places: bool
) -> tuple[Part, list[Change]]:
    """Return the part with the notes of some events changed, and what that lost.

    Args:
        part: The part.
        voicings: What each event becomes.
        log: Where losses are written.
        set_places: Set the places of the new notes; else they are left to the fingering.
    """

    def voiced(key: EventKey, event: Event) -> Event:
        found = voicings.get(key)
        return event if found is None else _with_notes(event, found, set_places=set_places)

    events = timeline(part).by_key
    gone = [n for key, new in voicings.items() for n in events[key].notes[len(new.pitches) :]]
    lost = sum(len(note.marks) for note in gone)
    done = map_keyed(part, voiced)
    lines = [log.overall(f"{count(lost, 'sign')} of notes that are gone dropped")] if lost else []
    return _freed(done, part, log, lines)


def _with_notes(event: Event, voiced: Voiced, *, set_places: bool) -> Event:
    old = sorted(event.notes, key=lambda note: note.pitch.semitones if note.pitch else 0)
    notes = []
    for index, (pitch, place) in enumerate(zip(voiced.pitches, voiced.places, strict=True)):
        # All notes of the chord are tied alike; signs stay with the voice in which they stood.
        model = old[index] if index < len(old) else replace(old[-1], marks=(), extras=(), pluck="")
        new = without_places(replace(model, pitch=pitch))
        notes.append(replace(new, place=place) if set_places else new)
    return replace(event, notes=tuple(notes))


def _freed(done: Part, source: Part, log: Scribe, lines: list[Change]) -> tuple[Part, list[Change]]:
    """Return the part without its places if two voices would now share a string."""
    if not shares_more_strings(source, done, log.score.ticks):
        return done, lines
    line = log.overall(
        "another voice needs some of these strings: places are left to the fingering"
    )
    return map_notes(done, without_places), [*lines, line]
