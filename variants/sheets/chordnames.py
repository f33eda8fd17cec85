"""Names of chords as letters: what the chord symbols and the grips are called on paper."""

from __future__ import annotations

from variants.music.chordtext import chord_text, kind_text
from variants.score import Harmony

__all__ = ["chord_name", "kind_text"]


def chord_name(harmony: Harmony) -> str:
    """Return the name of a chord symbol.

    >>> chord_name(Harmony(0, ("F", 1), "minor", bass=("C", 1)))
    'F♯m/C♯'
    """
    root = None if harmony.kind == "none" else harmony.root
    return chord_text(
        root, harmony.kind, degrees=harmony.degrees, bass=harmony.bass, text=harmony.text
    )
