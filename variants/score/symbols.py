"""The chord symbols of a part in order of time, and the notes that they stand for."""

from __future__ import annotations

from dataclasses import dataclass, replace

from variants.music.chordkinds import chord_tones, tone_classes
from variants.music.pitch import Alteration, Pitch
from variants.score.model import Part
from variants.score.signs import Harmony


@dataclass(frozen=True, slots=True)
class SymbolAt:
    """A chord symbol where it stands.

    Args:
        moment: Index of the measure, and ticks from its start.
        symbol: What it says: without its diagram and without its time.
    """

    moment: tuple[int, int]
    symbol: Harmony


def symbols_of(part: Part, *, scale: int = 1) -> list[SymbolAt]:
    """Return the chord symbols of a part; ticks are multiplied by ``scale``."""
    return [
        SymbolAt((index, harmony.onset * scale), replace(harmony, onset=0, frame=""))
        for index, measure in enumerate(part.measures)
        for harmony in sorted(measure.harmonies, key=lambda one: one.onset)
    ]


def symbol_classes(
    symbol: Harmony,
) -> tuple[frozenset[Alteration], frozenset[Alteration]] | None:
    """Return the pitch classes of a chord symbol, and those of its root and bass.

    ``None`` for a symbol that names no chord, or one whose notes are not known.
    """
    if symbol.root is None:
        return None
    tones = chord_tones(symbol.kind, symbol.degrees)
    if tones is None:
        return None
    root = Pitch(*symbol.root, 4)
    lowest = {root.pitch_class}
    if symbol.bass is not None:
        lowest.add(Pitch(*symbol.bass, 4).pitch_class)
    return tone_classes(root, tones) | lowest, frozenset(lowest)
