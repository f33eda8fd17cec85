"""How much of a tune a version keeps: the longest line that both have in common.

Two lines of heights are compared by their longest common subsequence, octaves counted, under the
one transposition of the whole version that fits best. What is common as a share of the version
says that what it plays is the tune; as a share of the source, how much of the tune is left.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

# Three octaves either way: more than any of our steps moves a part.
_FARTHEST = 36


@dataclass(frozen=True, slots=True)
class KeptTune:
    """How much of a tune a version keeps.

    Args:
        common: Notes that both lines have, in order, under one transposition.
        version: Notes of the version's line.
        source: Notes of the source's line.
        semitones: The transposition, up from the source.
    """

    common: int
    version: int
    source: int
    semitones: int

    @property
    def is_tune(self) -> float:
        """The share of the version that is the tune, 0 to 1; 1 for no notes at all."""
        return self.common / self.version if self.version else 1.0

    @property
    def is_left(self) -> float:
        """The share of the tune that is left, 0 to 1; 1 for a tune without notes."""
        return self.common / self.source if self.source else 1.0


def kept(source: Sequence[int], version: Sequence[int]) -> KeptTune:
    """Compare two lines.

    Args:
        source: MIDI numbers of the tune, in order.
        version: Those of a version of it.

    >>> kept([60, 62, 64, 65, 67], [62, 64, 66, 69])
    KeptTune(common=4, version=4, source=5, semitones=2)
    """
    best = KeptTune(0, len(version), len(source), 0)
    # The nearest transposition wins among equals.
    for semitones in sorted(range(-_FARTHEST, _FARTHEST + 1), key=lambda n: (abs(n), n)):
        common = longest_common([note + semitones for note in source], version)
        if common > best.common:
            best = KeptTune(common, len(version), len(source), semitones)
    return best


def longest_common(one: Sequence[int], other: Sequence[int]) -> int:
    """Return the length of the longest common subsequence.

    Bits of a whole number are the columns of the usual table, so a row is a few operations on
    whole numbers (Hyyrö, *Bit-parallel LCS-length computation revisited*, AWOCA 2004).

    >>> longest_common([1, 2, 3, 4, 1], [3, 4, 1, 2, 1, 3])
    3
    """
    if not one or not other:
        return 0
    places: dict[int, int] = {}
    for bit, height in enumerate(one):
        places[height] = places.get(height, 0) | 1 << bit
    every = (1 << len(one)) - 1
    row = every
    for height in other:
        here = row & places.get(height, 0)
        row = (row + here | row - here) & every
    return len(one) - row.bit_count()
