"""When a strumming hand strikes: the patterns of `strum`, in any metre.

The hand goes down on the beat and up between beats (shedthemusic.net); a pattern says which of
these strokes touch the strings. Common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from variants.music import Metre

CHORD, BASS, OTHER_BASS = "chord", "bass", "other bass"


@dataclass(frozen=True, slots=True)
class Beat:
    """One beat of a measure.

    Args:
        number: From 0.
        of: How many the measure has.
        start: Quarters from the start of the metre.
        length: In quarters.
        is_compound: Whether it divides in three.
    """

    number: int
    of: int
    start: Fraction
    length: Fraction
    is_compound: bool

    @property
    def off(self) -> Fraction:
        """The moment between this beat and the next at which the hand comes up."""
        return self.start + self.length * (Fraction(2, 3) if self.is_compound else Fraction(1, 2))


# Quarters from the start of the metre, and what is struck.
Strike = tuple[Fraction, str]


def _whole(beat: Beat) -> Iterator[Strike]:
    if not beat.number:
        yield beat.start, CHORD


def _halves(beat: Beat) -> Iterator[Strike]:
    if not beat.number or (beat.of % 2 == 0 and beat.number % 2 == 0):
        yield beat.start, CHORD


def _quarters(beat: Beat) -> Iterator[Strike]:
    yield beat.start, CHORD


def _eighths(beat: Beat) -> Iterator[Strike]:
    step = min(Fraction(1, 2), beat.length)
    for index in range(int(beat.length / step)):
        yield beat.start + index * step, CHORD


def _down_up(beat: Beat) -> Iterator[Strike]:
    yield beat.start, CHORD
    # A dotted beat is long enough for both strokes (down, up on its last third) from the first on.
    if beat.number or beat.of == 1 or beat.is_compound:
        yield beat.off, CHORD


def _syncopated(beat: Beat) -> Iterator[Strike]:
    # The beat in the middle of an even measure is not struck: the up stroke before it rings on.
    middle = beat.of > 2 and beat.of % 2 == 0 and beat.number == beat.of // 2
    if not middle:
        yield beat.start, CHORD
    if beat.number:
        yield beat.off, CHORD


def _bass_chord(beat: Beat) -> Iterator[Strike]:
    is_bass = not beat.number or (beat.of % 2 == 0 and beat.number % 2 == 0)
    yield beat.start, BASS if is_bass else CHORD


PATTERNS: dict[str, Callable[[Beat], Iterator[Strike]]] = {
    "whole": _whole,
    "halves": _halves,
    "quarters": _quarters,
    "eighths": _eighths,
    "down-up": _down_up,
    "syncopated": _syncopated,
    "bass-chord": _bass_chord,
}


def strikes(name: str, metre: Metre, *, begin: Fraction, end: Fraction) -> dict[Fraction, str]:
    """Return what is struck when: quarters from where the metre begins, in order.

    Args:
        name: A pattern of `PATTERNS`.
        metre: Metre in force.
        begin: Quarters of the metre that are missing before the measure starts (a pick-up).
        end: Quarters from where the metre begins to where the measure ends.

    >>> [str(at) for at in strikes("down-up", Metre(), begin=Fraction(0), end=Fraction(4))]
    ['0', '1', '3/2', '2', '5/2', '3', '7/2']
    >>> [str(at) for at in strikes("whole", Metre(), begin=Fraction(3), end=Fraction(4))]
    []
    """
    lengths = metre.beat_lengths
    if not lengths:
        return {begin: CHORD}  # without a metre there is one stroke a measure
    pattern = PATTERNS[name]
    found: dict[Fraction, str] = {}
    base = Fraction(0)
    while base < end:
        # A measure may be longer than its metre: the pattern then begins again.
        start = base
        for number, length in enumerate(lengths):
            compound = length.numerator % 3 == 0
            beat = Beat(number, len(lengths), start, length, compound)
            found |= {at: what for at, what in pattern(beat) if begin <= at < end}
            start += length
        base = start
    return found
