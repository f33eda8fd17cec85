"""The notes of a part as a player takes them: struck once, held through ties, then let go."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Iterable
from dataclasses import replace

from variants.errors import Refusal
from variants.music import Key, spelled
from variants.score import (
    Change,
    Instrument,
    Note,
    NoteKey,
    Part,
    Place,
    Score,
    Take,
    map_heads,
    notes,
    timeline,
)
from variants.steps.framework.log import Scribe
from variants.steps.framework.registry import list_steps


def takes_of(part: Part, log: Scribe) -> tuple[Take, ...]:
    """Return the pitched notes of a part in order of time; cue notes are not played.

    Raises:
        Refusal: A note is a microtone, which no fret stops.
    """
    takes = timeline(part).takes
    for take in sorted(takes, key=lambda one: one.heads):
        if take.pitch.is_microtone:
            raise log.refusal(
                take.measure,
                take.tick,
                f"{take.pitch} lies between two frets",
                way_out="leave the note out, or write it as a bend",
            )
    return takes


def fretted_parts(score: Score) -> list[int]:
    """Return the places of the parts to put on a neck.

    Those with an instrument; if there are none, all that have a pitched note.
    """
    fretted = [index for index, part in enumerate(score.parts) if part.instrument is not None]
    return fretted or [
        index
        for index, part in enumerate(score.parts)
        if any(note.pitch is not None for note in notes(part))
    ]


def with_instrument(part: Part) -> Part:
    """Return the part with an instrument: the standard guitar where it has none."""
    if part.instrument is not None:
        return part
    from variants.guitar import STANDARD, instrument_for

    return replace(part, instrument=replace(instrument_for(STANDARD), assumed=True))


def fold_hint(low: int | None = None, high: int | None = None) -> str:
    """Return the advice to fold octaves, where there is such a step; else nothing.

    Args:
        low: MIDI number of the lowest note that would do, where the instrument has lower ones.
        high: The highest one.
    """
    known = any(step.name == "fold-octaves" for step in list_steps())
    bounds = [
        f"{name}={spelled(midi, Key(0))}"
        for name, midi in (("lowest", low), ("highest", high))
        if midi is not None
    ]
    step = ":".join(["fold-octaves", ",".join(bounds)] if bounds else ["fold-octaves"])
    return f"put {step} before it, or " if known else ""


def fret_span(frets: list[int]) -> str:
    """Return the frets that are used in words.

    >>> fret_span([3, 0, 5]), fret_span([5, 5])
    ('frets 0 to 5', 'fret 5')
    """
    low, high = min(frets), max(frets)
    return f"frets {low} to {high}" if low < high else f"fret {low}"


def assumed(part: Part, step: str) -> list[Change]:
    """Return the line that says that a part without an instrument got one."""
    if part.instrument is not None:
        return []
    return [Change("no instrument is given: a guitar in standard tuning", step, part=part.id)]


def instrument_at(part: Part) -> Callable[[int], Instrument]:
    """Return what tells the instrument at a time (ticks from the start of the part).

    Raises:
        Refusal: The part has no instrument.
    """
    if part.instrument is None:
        raise Refusal(f"part {part.name or part.id} has no instrument", way_out="name a tuning")
    times, found = [0], [part.instrument]
    for start, measure in zip(timeline(part).starts, part.measures, strict=True):
        for change in measure.attributes:
            if change.instrument is not None:
                times.append(start + change.onset)
                found.append(change.instrument)
    return lambda time: found[bisect_right(times, time) - 1]


def placed(part: Part, places: Iterable[tuple[Take, Place]]) -> Part:
    """Return the part with places set; a finger stays only where the place was the same."""
    table: dict[NoteKey, Place] = {}
    for take, place in places:
        for head in take.heads:
            table[head] = place
    return map_heads(part, lambda head, note: _with_place(note, table.get(head)))


def _with_place(note: Note, place: Place | None) -> Note:
    if place is None or place == note.place:
        return note
    return replace(note, place=place, finger="")
