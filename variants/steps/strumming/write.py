"""Strummed chords as what sounds in a measure."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from variants.guitar.shapes import ChordGrip
from variants.music import NoteValue
from variants.score import Event, Extra, Harmony, Instrument, Note, Place
from variants.score.notation import NotationWriter
from variants.steps.strumming.grips import spelled_in
from variants.steps.strumming.patterns import BASS, CHORD

# Strings from this one down carry the bass (common practice).
_BASS_STRING = 4
_FIFTH = 7
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
        what: ``chord``, ``bass`` for its lowest note alone, or ``other bass``.
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
        for midi, string, fret, finger in _struck(stroke, sounding, instrument)
    )


# MIDI number, string, fret and finger.
_Stop = tuple[int, int, int, int]


def _struck(stroke: StrumStroke, sounding: list[_Stop], instrument: Instrument) -> list[_Stop]:
    """Return what a stroke touches of a grip.

    The second bass of a chord is its fifth, on the next bass strings of the grip or on an open one
    below it; else the next string (common practice: C and E under C, D and A under D). A chord
    with a bass of its own keeps that one.
    """
    if stroke.what == CHORD:
        return sounding
    low = sounding[0]
    if stroke.what == BASS or stroke.symbol is None or stroke.symbol.root is None:
        return [low]
    if stroke.symbol.bass is not None or len(sounding) < 2:
        return [low]
    fifth = (low[0] + _FIFTH) % 12
    opens = [
        (instrument.open_midi[string - 1], string, 0, 0)
        for string in range(low[1] + 1, instrument.strings + 1)
    ]
    others = [one for one in sounding[1:] if one[1] >= _BASS_STRING]
    found = [one for one in (*others, *opens) if one[0] % 12 == fifth]
    return [next(iter(found), sounding[1])]
