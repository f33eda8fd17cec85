"""The chord symbols of a part in order of time, and the notes that they stand for."""

from __future__ import annotations

from dataclasses import dataclass, replace

from variants.music.chordkinds import chord_tones, tone_classes
from variants.music.chordtext import chord_text
from variants.music.pitch import Alteration, Pitch, fifths_of, name_at_fifths
from variants.score.model import Part
from variants.score.signs import Harmony

_SEMITONE_IN_FIFTHS = 7
# Names from Ab to F# are the usual ones for shapes.
_USUAL_FIFTHS = range(-4, 7)


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


def symbol_name(harmony: Harmony, capo: int = 0) -> str:
    """Return the name of a chord symbol; empty for one that the model does not read.

    Args:
        harmony: The symbol.
        capo: The fret over which it is held: the name is that of the shape.

    >>> symbol_name(Harmony(0, ("F", 1), "minor-seventh", bass=("E", 0)))
    'F♯m7/E'
    >>> symbol_name(Harmony(0, ("D", 0), "power"), capo=2)
    'C5'
    """
    if harmony.xml:
        return ""
    return chord_text(
        None if harmony.kind == "none" else _held(harmony.root, capo),
        harmony.kind,
        degrees=harmony.degrees,
        bass=_held(harmony.bass, capo),
        text=harmony.text,
    )


def _held(name: tuple[str, int] | None, capo: int) -> tuple[str, int] | None:
    """Return the name of a note as the hand holds it over a capo."""
    if name is None or not capo:
        return name
    fifths = fifths_of(*name) - capo * _SEMITONE_IN_FIFTHS
    letter, alter = name_at_fifths(next(one for one in _USUAL_FIFTHS if (one - fifths) % 12 == 0))
    return letter, alter
