"""Ways to derive a score from a score without touching the first."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial

from variants.music import Pitch
from variants.score.model import (
    Change,
    Event,
    EventKey,
    Measure,
    Note,
    NoteKey,
    Part,
    Score,
    Voice,
)


def with_parts(score: Score, parts: Iterable[Part], changes: Iterable[Change] = ()) -> Score:
    """Return the score with other parts and further lines in its change log."""
    return replace(score, parts=tuple(parts), changes=(*score.changes, *changes))


def with_changes(score: Score, changes: Iterable[Change]) -> Score:
    """Return the score with further lines in its change log."""
    return replace(score, changes=(*score.changes, *changes))


def with_notes(event: Event, notes: tuple[Note, ...]) -> Event:
    """Return the event with other notes. Written out: `dataclasses.replace` is far slower."""
    return Event(
        event.onset,
        event.duration,
        event.value,
        notes,
        event.staff,
        event.grace,
        event.is_cue,
        event.is_measure_rest,
        event.stem,
        event.beams,
        event.marks,
        event.lyrics,
        event.extras,
    )


def with_pitch(note: Note, pitch: Pitch) -> Note:
    """Return the note at another pitch with all else as it is. Written out, as above."""
    return Note(
        pitch,
        note.tie_stop,
        note.tie_start,
        note.place,
        note.finger,
        note.pluck,
        note.accidental,
        note.staff,
        note.marks,
        note.extras,
    )


def map_events(part: Part, change: Callable[[Event], Event]) -> Part:
    """Return the part with every event changed by a function."""
    return replace(
        part,
        measures=tuple(map_measure_events(measure, change) for measure in part.measures),
    )


def map_measure_events(measure: Measure, change: Callable[[Event], Event]) -> Measure:
    """Return the measure with every event changed by a function."""
    return with_voices(
        measure,
        tuple([Voice(voice.id, tuple(map(change, voice.events))) for voice in measure.voices]),
    )


def with_voices(measure: Measure, voices: tuple[Voice, ...]) -> Measure:
    """Return the measure with other voices. Written out, as above."""
    return Measure(
        measure.number,
        measure.length,
        voices,
        measure.is_implicit,
        measure.attributes,
        measure.barlines,
        measure.harmonies,
        measure.directions,
        measure.carried,
    )


def map_notes(part: Part, change: Callable[[Note], Note]) -> Part:
    """Return the part with every note changed by a function; rests are left alone."""

    def of_event(event: Event) -> Event:
        return with_notes(event, tuple(map(change, event.notes))) if event.notes else event

    return map_events(part, of_event)


def map_keyed(part: Part, change: Callable[[EventKey, Event], Event]) -> Part:
    """Return the part with every event changed by a function that is told which one it is."""
    return replace(
        part,
        measures=tuple(
            map_places(measure, partial(_in_measure, index, change))
            for index, measure in enumerate(part.measures)
        ),
    )


def _in_measure(
    index: int,
    change: Callable[[EventKey, Event], Event],
    at: tuple[int, int],
    event: Event,
) -> Event:
    return change((index, *at), event)


def map_places(measure: Measure, change: Callable[[tuple[int, int], Event], Event]) -> Measure:
    """Return the measure with every event changed by a function that is told voice and place."""
    return with_voices(
        measure,
        tuple(
            Voice(voice.id, tuple(change((number, at), e) for at, e in enumerate(voice.events)))
            for number, voice in enumerate(measure.voices)
        ),
    )


def map_heads(part: Part, change: Callable[[NoteKey, Note], Note]) -> Part:
    """Return the part with every note changed by a function that is told which head it is."""

    def of_event(key: EventKey, event: Event) -> Event:
        notes = tuple(change((*key, head), note) for head, note in enumerate(event.notes))
        return event if notes == event.notes else with_notes(event, notes)

    return map_keyed(part, of_event)


def without_places(note: Note) -> Note:
    """Return the note without place and fretting finger, as after any change of pitch."""
    if note.place is None and not note.finger:
        return note
    return replace(note, place=None, finger="")
