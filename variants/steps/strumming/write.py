"""Strummed chords as what sounds in a measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from variants.guitar.shapes import ChordGrip
from variants.music import NoteValue
from variants.score import Event, Extra, Harmony, Instrument, Note, Place
from variants.score.notation import NotationWriter
from variants.steps.strumming.grips import spelled_in
from variants.steps.strumming.patterns import BASS

# Says that the fingers are ours, so that they come off again with the other marks
# (`variants.marks.own`).
_OURS = Extra("level", "<level>neckwise: fingering</level>")


@dataclass(frozen=True, slots=True)
class StrumStroke:
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


def written(
    strokes: Sequence[StrumStroke], writer: NotationWriter, instrument: Instrument
) -> tuple[Event, ...]:
    """Return the events of a measure: each stroke lasts to the next one."""
    ends = [*(stroke.tick for stroke in strokes), writer.length][1:]
    struck = [
        Event(stroke.tick, end - stroke.tick, NoteValue(""), _notes(stroke, instrument))
        for stroke, end in zip(strokes, ends, strict=True)
        if stroke.grip is not None and stroke.symbol is not None and end > stroke.tick
    ]
    return writer.beamed(list(writer.filled(struck)))


def _notes(stroke: StrumStroke, instrument: Instrument) -> tuple[Note, ...]:
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
