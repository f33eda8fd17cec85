"""What sounds on at a moment, and which marks make one span."""

from __future__ import annotations

from collections.abc import Iterator

from variants.music.pitch import Alteration
from variants.score import Event, EventKey, Mark, Measure, Part, timeline


def held_heights(measure: Measure, tick: int) -> frozenset[Alteration]:
    """Return the heights of the notes that sound at a tick of a measure and began before it."""
    return frozenset(
        note.pitch.semitones
        for event in measure.events
        if event.onset <= tick < event.end and event.grace is None
        for note in event.notes
        if note.pitch is not None and (event.onset < tick or note.tie_stop)
    )


# A mark is named by its event, its note (-1: it belongs to the event) and its place there.
MarkKey = tuple[EventKey, int, int]


def span_links(part: Part) -> list[tuple[MarkKey, ...]]:
    """Return the marks that make one span: its start, what continues it, its stop."""
    # Order of time decides which ends belong together; spans may cross voices.
    ordered = sorted(
        timeline(part).events,
        key=lambda one: (one.key[0], one.event.onset, one.event.grace is None, one.key),
    )
    spans: list[tuple[MarkKey, ...]] = []
    opened: dict[tuple[str, str, str], list[list[MarkKey]]] = {}
    for one in ordered:
        key = one.key
        for owner, place, mark in marks_of(one.event):
            here: MarkKey = (key, owner, place)
            waiting = opened.setdefault((mark.family, mark.name, mark.number), [])
            if mark.role == "start":
                waiting.append([here])
            elif mark.role in {"stop", "continue"} and waiting:
                # Two voices may use one number: an end in the same voice comes first.
                same = [known for known in waiting if known[0][0][1] == key[1]]
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
