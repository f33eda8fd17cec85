"""Which note is which in a part, what begins together, and what ties and spans hold together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from variants.music.pitch import Alteration, Pitch
from variants.score import Event, Mark, Measure, Note, Part
from variants.score.roots import Moment, moments

# Measure, voice, event and note, each counted from 0 where it stands.
NoteKey = tuple[int, int, int, int]
EventKey = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Struck:
    """A pitched note that begins at an onset."""

    key: NoteKey
    pitch: Pitch


def events_by_key(part: Part) -> Iterator[tuple[EventKey, Event]]:
    """Yield every event of a part with its key."""
    for index, measure in enumerate(part.measures):
        for voice_index, voice in enumerate(measure.voices):
            for event_index, event in enumerate(voice.events):
                yield (index, voice_index, event_index), event


def struck_notes(part: Part) -> dict[Moment, list[Struck]]:
    """Return what begins together, by measure index, tick and grace (see `Onset`)."""
    found: dict[Moment, list[Struck]] = {}
    for index, measure in enumerate(part.measures):
        for voice_index, voice in enumerate(measure.voices):
            for (tick, grace), event_index in moments(voice.events):
                for note_index, note in enumerate(voice.events[event_index].notes):
                    if note.pitch is not None and not note.tie_stop:
                        key = (index, voice_index, event_index, note_index)
                        here = found.setdefault((index, tick, grace), [])
                        here.append(Struck(key, note.pitch))
    return dict(sorted(found.items()))


def held_heights(measure: Measure, tick: int) -> frozenset[Alteration]:
    """Return the heights of the notes that sound at a tick of a measure and began before it."""
    return frozenset(
        note.pitch.semitones
        for voice in measure.voices
        for event in voice.events
        if event.onset <= tick < event.end and event.grace is None
        for note in event.notes
        if note.pitch is not None and (event.onset < tick or note.tie_stop)
    )


def tie_links(part: Part) -> dict[NoteKey, NoteKey]:
    """Return, for each note that is tied to, the note that is tied from; in order of time."""
    tied: list[tuple[int, int, NoteKey, Note]] = []
    starts = measure_starts(part)
    for owner, event in events_by_key(part):
        begin = starts[owner[0]] + event.onset
        tied += [
            (begin, begin + event.duration, (*owner, note_index), note)
            for note_index, note in enumerate(event.notes)
            if note.tie_start or note.tie_stop
        ]
    links: dict[NoteKey, NoteKey] = {}
    waiting: dict[tuple[int, Alteration], list[NoteKey]] = {}
    for begin, end, key, note in sorted(tied, key=lambda one: one[:3]):
        if note.pitch is None:
            continue
        height = note.pitch.semitones
        begun = waiting.get((begin, height))
        if note.tie_stop and begun:
            # A tie within the voice comes before one from another voice.
            same = [one for one in begun if one[1] == key[1]]
            links[key] = same[-1] if same else begun[-1]
            begun.remove(links[key])
        if note.tie_start:
            waiting.setdefault((end, height), []).append(key)
    return links


def measure_starts(part: Part) -> list[int]:
    """Return the ticks from the start of the part at which each measure begins."""
    starts, now = [], 0
    for measure in part.measures:
        starts.append(now)
        now += measure.length
    return starts


# A mark is named by its event, its note (-1: it belongs to the event) and its place there.
MarkKey = tuple[EventKey, int, int]


def span_links(part: Part) -> list[tuple[MarkKey, ...]]:
    """Return the marks that make one span: its start, what continues it, its stop."""
    # Order of time decides which ends belong together; spans may cross voices.
    ordered = sorted(
        (
            (key[0], event.onset, event.grace is None, key, event)
            for key, event in events_by_key(part)
        ),
        key=lambda one: one[:4],
    )
    spans: list[tuple[MarkKey, ...]] = []
    opened: dict[tuple[str, str, str], list[list[MarkKey]]] = {}
    for _, _, _, key, event in ordered:
        for owner, place, mark in marks_of(event):
            here: MarkKey = (key, owner, place)
            waiting = opened.setdefault((mark.family, mark.name, mark.number), [])
            if mark.role == "start":
                waiting.append([here])
            elif mark.role in {"stop", "continue"} and waiting:
                # Two voices may use one number: an end in the same voice comes first.
                same = [span for span in waiting if span[0][0][1] == key[1]]
                span = (same or waiting)[-1]
                span.append(here)
                if mark.role == "stop":
                    waiting.remove(span)
                    spans.append(tuple(span))
    return spans


def marks_of(event: Event) -> Iterator[tuple[int, int, Mark]]:
    """Yield (index of the note or -1, index of the mark, mark) of all marks of an event."""
    for place, mark in enumerate(event.marks):
        yield -1, place, mark
    for owner, note in enumerate(event.notes):
        for place, mark in enumerate(note.marks):
            yield owner, place, mark
