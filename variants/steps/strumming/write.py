"""Writes strummed chords into a measure: note values, ties, rests and beams."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from variants.guitar.shapes import ChordGrip
from variants.music import Metre, NoteValue
from variants.score import Event, Extra, Harmony, Instrument, Note, Place
from variants.score.beams import beams
from variants.score.spell import spell
from variants.steps.strumming.grips import spelled_in
from variants.steps.strumming.patterns import BASS

# Says that the fingers are ours, so that they come off again with the other marks
# (`variants.marks.own`).
_OURS = Extra("level", "<level>neckwise: fingering</level>")


@dataclass(frozen=True, slots=True)
class Stroke:
    """What is struck at a moment of a measure.

    Args:
        tick: Ticks from the start of the measure.
        symbol: The chord symbol in force; ``None`` before the first.
        grip: How it is held; ``None`` for silence.
        what: ``chord``, or ``bass`` for its lowest note alone.
    """

    tick: int
    symbol: Harmony | None
    grip: ChordGrip | None
    what: str


@dataclass(frozen=True, slots=True)
class Timing:
    """The measure that is filled: its length in ticks, metre, ticks to a quarter, and pick-up."""

    length: int
    metre: Metre
    ticks: int
    shift: int


def written(strokes: Sequence[Stroke], timing: Timing, instrument: Instrument) -> tuple[Event, ...]:
    """Return the events of a measure: each stroke lasts to the next one."""
    found: list[Event] = []
    times = [*(stroke.tick for stroke in strokes), timing.length]
    found += _rests(0, times[0], timing)
    ends = times[1:]
    silent_from: int | None = None
    for stroke, end in zip(strokes, ends, strict=True):
        if stroke.grip is None or stroke.symbol is None:
            silent_from = stroke.tick if silent_from is None else silent_from
            continue
        if silent_from is not None:
            found += _rests(silent_from, stroke.tick, timing)
            silent_from = None
        found += _chord(stroke, end, timing, instrument)
    if silent_from is not None:
        found += _rests(silent_from, timing.length, timing)
    values = beams(found, timing.metre, ticks=timing.ticks, shift=timing.shift)
    return tuple(replace(event, beams=value) for event, value in zip(found, values, strict=True))


def _rests(start: int, end: int, timing: Timing) -> Iterator[Event]:
    if end <= start:
        return
    full = timing.metre.is_measured and timing.length == timing.metre.quarters * timing.ticks
    if start == 0 and end == timing.length and full:
        yield Event(0, end, NoteValue(), is_measure_rest=True)
        return
    for tick, duration, value in _pieces(start, end, timing, rest=True):
        yield Event(tick, duration, value)


def _chord(stroke: Stroke, end: int, timing: Timing, instrument: Instrument) -> Iterator[Event]:
    notes = _notes(stroke, instrument)
    pieces = _pieces(stroke.tick, end, timing, rest=False)
    for index, (tick, duration, value) in enumerate(pieces):
        held, goes_on = index > 0, index + 1 < len(pieces)
        yield Event(
            tick,
            duration,
            value,
            tuple(
                replace(
                    note,
                    tie_stop=held,
                    tie_start=goes_on,
                    finger="" if held else note.finger,
                    extras=() if held else note.extras,
                )
                for note in notes
            ),
        )


def _pieces(
    start: int, end: int, timing: Timing, *, rest: bool
) -> tuple[tuple[int, int, NoteValue], ...]:
    if end <= start:
        return ()
    return spell(
        start, end - start, timing.metre, ticks=timing.ticks, shift=timing.shift, rest=rest
    )


def _notes(stroke: Stroke, instrument: Instrument) -> tuple[Note, ...]:
    if stroke.grip is None or stroke.symbol is None:
        return ()
    symbol = stroke.symbol
    sounding = sorted(
        (instrument.open_midi[string - 1] + fret, string, fret, finger)
        for string, fret, finger in stroke.grip.stops
    )
    return tuple(
        Note(
            spelled_in(symbol, midi),
            place=Place(string, fret),
            finger=str(finger),
            extras=(_OURS,),
        )
        for midi, string, fret, finger in (sounding[:1] if stroke.what == BASS else sounding)
    )
