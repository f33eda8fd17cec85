"""Metre: beats, their groups, and how strong each moment of a measure is."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache


@dataclass(frozen=True, slots=True)
class Metre:
    """A time signature.

    Args:
        beats: Upper numbers as printed, one for each signature that is added: ``("3+2",)``.
        beat_types: Lower numbers, as many as ``beats``. Both empty: senza misura.
        symbol: MusicXML symbol (``common``, ``cut``, ...), empty for numbers.

    >>> Metre(("6",), (8,)).beat_lengths
    (Fraction(3, 2), Fraction(3, 2))
    """

    beats: tuple[str, ...] = ("4",)
    beat_types: tuple[int, ...] = (4,)
    symbol: str = ""

    @property
    def quarters(self) -> Fraction:
        """Length of a full measure in quarters; 0 for senza misura."""
        return sum(self._groups(), Fraction(0))

    @property
    def is_measured(self) -> bool:
        """False for senza misura."""
        return bool(self.beats)

    @property
    def is_compound(self) -> bool:
        """Whether beats divide in three: 6, 9, 12 (and more) over 8 or 16."""
        return len(self.beats) == 1 and _compound(self.beats[0], self.beat_types[0])

    @property
    def beat_lengths(self) -> tuple[Fraction, ...]:
        """Lengths in quarters of the beats that a player counts."""
        return _beat_lengths(self)

    def _groups(self) -> list[Fraction]:
        return [
            Fraction(int(number) * 4, kind)
            for text, kind in zip(self.beats, self.beat_types, strict=True)
            for number in text.split("+")
        ]

    def beat_at(self, quarters: Fraction) -> Fraction:
        """Return the beat number of a moment: 1 at the start, 2.5 half-way through beat 2.

        Past the measure's end the last beat's length goes on counting.
        """
        start = Fraction(0)
        lengths = self.beat_lengths or (Fraction(1),)
        for index, length in enumerate(lengths):
            if quarters < start + length:
                return 1 + index + (quarters - start) / length
            start += length
        return 1 + len(lengths) + (quarters - start) / lengths[-1]

    def strength(self, quarters: Fraction) -> int:
        """Return the metrical level of a moment: 0 for the downbeat, more for weaker ones.

        The levels are those of a metrical tree: measure, half of an even measure, beat, then
        halves (or thirds of a compound beat) again and again.
        """
        return _strength(self, quarters)

    def __str__(self) -> str:
        if not self.beats:
            return "senza misura"
        return " + ".join(f"{b}/{t}" for b, t in zip(self.beats, self.beat_types, strict=True))


def _compound(beats: str, beat_type: int) -> bool:
    return beats.isdigit() and int(beats) > 3 and int(beats) % 3 == 0 and beat_type >= 8


@lru_cache(maxsize=256)
def _beat_lengths(metre: Metre) -> tuple[Fraction, ...]:
    lengths: list[Fraction] = []
    for text, kind in zip(metre.beats, metre.beat_types, strict=True):
        unit = Fraction(4, kind)
        for number in text.split("+"):
            count = int(number)
            if "+" in text and kind >= 8:
                lengths.append(count * unit)  # 3+2/8 is counted as a long and a short beat
            elif _compound(number, kind):
                lengths += [3 * unit] * (count // 3)
            else:
                lengths += [unit] * count
    return tuple(lengths)


@lru_cache(maxsize=8192)
def _strength(metre: Metre, quarters: Fraction) -> int:
    if quarters == 0:
        return 0
    start = Fraction(0)
    lengths = metre.beat_lengths or (Fraction(1),)
    for index, length in enumerate(lengths):
        if quarters == start:
            even = len(lengths) % 2 == 0 and len(lengths) > 2
            return 1 if even and index == len(lengths) // 2 else 2
        if quarters < start + length:
            return _within_beat(quarters - start, length, compound=metre.is_compound)
        start += length
    last = lengths[-1]
    return _within_beat((quarters - start) % last, last, compound=metre.is_compound)


def _within_beat(offset: Fraction, length: Fraction, *, compound: bool) -> int:
    level, unit = 3, length / (3 if compound else 2)
    while offset % unit and level < 12:
        level, unit = level + 1, unit / 2
    return level
