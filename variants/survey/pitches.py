"""Pitches of a part: its range, and its dyads and chords by interval."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from variants.music import UNISON, Interval, Pitch
from variants.musicxml.attributes_reader import interval_of
from variants.musicxml.layout import notation_clef
from variants.score import Part, timeline


@dataclass(frozen=True, slots=True)
class PitchFacts:
    """Pitches of one part; only notes that are struck count, not those held by a tie.

    Args:
        lowest: Lowest sounding pitch; ``None`` for a part without pitches.
        highest: Highest sounding pitch.
        written: From sounding to written: an octave up for a guitar in the treble clef.
        onsets: Number of onsets, grace notes included.
        struck: Number of notes that begin at them.
        singles: Onsets of one note.
        dyads: Interval of each pair of notes that begins together, with its count.
        chords: Intervals of three and more notes above the lowest, with their count.
        most_at_once: Most notes that begin together.
    """

    lowest: Pitch | None
    highest: Pitch | None
    written: Interval
    onsets: int
    struck: int
    singles: int
    dyads: tuple[tuple[Interval, int], ...]
    chords: tuple[tuple[tuple[Interval, ...], int], ...]
    most_at_once: int


def pitch_facts(part: Part) -> PitchFacts:
    """Return range and texture of a part.

    Notes doubled at the same pitch by two voices count as one.
    """
    onsets = [different(pitches) for pitches in timeline(part).onsets]
    every = {pitch for onset in onsets for pitch in onset}
    ordered = sorted(every, key=_height)
    dyads = Counter(Interval.between(*onset) for onset in onsets if len(onset) == 2)
    chords = Counter(
        tuple(Interval.between(onset[0], pitch) for pitch in onset[1:])
        for onset in onsets
        if len(onset) > 2
    )
    return PitchFacts(
        lowest=ordered[0] if ordered else None,
        highest=ordered[-1] if ordered else None,
        written=written_interval(part),
        onsets=len(onsets),
        struck=sum(map(len, onsets)),
        singles=sum(len(onset) == 1 for onset in onsets),
        dyads=tuple(sorted(dyads.items(), key=lambda item: (-item[1], item[0].semitones))),
        chords=tuple(
            sorted(chords.items(), key=lambda item: (-item[1], [i.semitones for i in item[0]]))
        ),
        most_at_once=max(map(len, onsets), default=0),
    )


def different(pitches: Iterable[Pitch]) -> tuple[Pitch, ...]:
    """Return pitches from low to high, each sounding height once."""
    by_height = {pitch.semitones: pitch for pitch in sorted(pitches, key=_height)}
    return tuple(by_height.values())


def _height(pitch: Pitch) -> tuple[float, int]:
    return float(pitch.semitones), pitch.steps


def written_interval(part: Part) -> Interval:
    """Return the interval from the sounding to the written pitch at the start of a part."""
    if part.instrument is not None:
        return Interval(
            -7 * notation_clef(part.instrument).octave_change,
            -12 * notation_clef(part.instrument).octave_change,
        )
    for measure in part.measures[:1]:
        for change in measure.attributes:
            for transposition in change.transpositions[:1]:
                return -interval_of(transposition)
            for clef in change.clefs[:1]:
                return Interval(-7 * clef.octave_change, -12 * clef.octave_change)
    return UNISON
