"""Puts new voicings into the events of a part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from variants.score import (
    Change,
    Event,
    EventKey,
    Note,
    Part,
    Score,
    Voice,
    map_notes,
    without_places,
)
from variants.score.survey import survey
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
    touched = {key[:2] for key in voicings}
    lost = 0
    measures = []
    for index, measure in enumerate(part.measures):
        voices = list(measure.voices)
        for place, voice in enumerate(measure.voices):
            if (index, place) not in touched:
                continue
            events = list(voice.events)
            for number, event in enumerate(voice.events):
                voiced = voicings.get((index, place, number))
                if voiced is not None:
                    events[number] = _with_notes(event, voiced, set_places=set_places)
                    lost += sum(map(_signs, event.notes[len(voiced.pitches) :]))
            voices[place] = Voice(voice.id, tuple(events))
        measures.append(replace(measure, voices=tuple(voices)))
    done = replace(part, measures=tuple(measures))
    lines = [log.overall(f"{count(lost, 'sign')} of notes that are gone dropped")] if lost else []
    return _freed(done, part, log, lines)


def _signs(note: Note) -> int:
    return len(note.marks)


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
    ticks = log.score.ticks
    before, after = (survey(Score(ticks, (one,))).parts[0].shared_strings for one in (source, done))
    if len(after) <= len(before):
        return done, lines
    line = log.overall(
        "another voice needs some of these strings: places are left to the fingering"
    )
    return map_notes(done, without_places), [*lines, line]
