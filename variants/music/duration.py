"""Note values: what is written, apart from how long it sounds in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

# Length in quarters of each MusicXML note type, longest first.
QUARTERS_OF_TYPE: dict[str, Fraction] = {
    "maxima": Fraction(32),
    "long": Fraction(16),
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
    "64th": Fraction(1, 16),
    "128th": Fraction(1, 32),
    "256th": Fraction(1, 64),
    "512th": Fraction(1, 128),
    "1024th": Fraction(1, 256),
}
TYPES = tuple(QUARTERS_OF_TYPE)


@dataclass(frozen=True, slots=True)
class NoteValue:
    """A printed note value.

    Args:
        type: MusicXML note type; empty when the source does not say (a whole-measure rest).
        dots: Augmentation dots.
        actual: Notes of the tuplet in the time of ``normal``; 1 and 1 outside tuplets.
        normal: See ``actual``: 3 in the time of 2 is a triplet.
        normal_type: Note type that ``normal`` counts, where the source names it.
        normal_dots: Dots of that type.

    >>> NoteValue("quarter", 1).quarters, NoteValue("eighth", 0, 3, 2).quarters
    (Fraction(3, 2), Fraction(1, 3))
    """

    type: str = ""
    dots: int = 0
    actual: int = 1
    normal: int = 1
    normal_type: str = ""
    normal_dots: int = 0

    @property
    def quarters(self) -> Fraction | None:
        """Length in quarters; ``None`` when no type is given."""
        return _quarters(self)

    @property
    def is_tuplet(self) -> bool:
        """Whether a tuplet ratio applies."""
        return self.actual != self.normal

    def __str__(self) -> str:
        dots = {0: "", 1: "dotted ", 2: "double-dotted "}.get(self.dots, f"{self.dots}-dotted ")
        ratio = f" ({self.actual}:{self.normal})" if self.is_tuplet else ""
        return f"{dots}{self.type or 'unnamed'}{ratio}"


@lru_cache(maxsize=1024)
def _quarters(value: NoteValue) -> Fraction | None:
    base = QUARTERS_OF_TYPE.get(value.type)
    if base is None:
        return None
    dotted = base * (2 - Fraction(1, 2**value.dots))
    return dotted * value.normal / value.actual


@lru_cache(maxsize=4096)
def single_value(quarters: Fraction, *, most_dots: int = 1) -> NoteValue | None:
    """Return the one plain value that lasts ``quarters``, or ``None`` if it takes a tie.

    >>> single_value(Fraction(3, 2)), single_value(Fraction(5, 4))
    (NoteValue(type='quarter', dots=1, actual=1, normal=1, normal_type='', normal_dots=0), None)
    """
    for name, length in QUARTERS_OF_TYPE.items():
        for dots in range(most_dots + 1):
            if length * (2 - Fraction(1, 2**dots)) == quarters:
                return NoteValue(name, dots)
    return None
