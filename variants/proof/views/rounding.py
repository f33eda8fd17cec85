"""Durations that had to be rounded to divisions."""

from __future__ import annotations

from fractions import Fraction

from variants.proof.page import Head


def is_rounded(head: Head, wanted: int | Fraction) -> bool:
    """Whether a duration differs from what its value asks for, in ticks, by rounding alone.

    Divisions of a fine grain are rounded by one here and there; of a coarse one they are not.
    """
    off = abs(float(wanted - head.duration))
    division = head.bar.division
    return off < division or (off == division and 8 * division <= wanted)
