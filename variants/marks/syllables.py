"""The counting syllables of three systems.

Numbers: ``1 & 2 &`` and ``1 e & a`` (nathanmuehl.com, ob1.21-22), ``1 trip let``, and ``1 & a``
in compound metre (cruiseshipdrummer.com). Te-ta, as taught at Eastman (Feezell,
oneminutemusiclesson.com): ``1 te``, ``1 ti te ta``, thirds ``1 la li``, ``1 ta la ta li ta``.
Takadimi (nathanmuehl.com): ``ta di``, ``ta ka di mi``; its thirds ``ta ki da``, sixths
``ta va ki di da ma`` and fifths ``ta ka di mi ti`` are from memory, and so is the "ta" between
the compound syllables of the numbers.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from variants.music.metre import Pulse

# A moment for which a system has no syllable.
UNNAMED = "·"
_DUPLE = frozenset({Fraction(1, 2), Fraction(1, 4), Fraction(3, 4)})


def _table(count: int, *texts: str) -> dict[Fraction, str]:
    return {Fraction(index, count): text for index, text in enumerate(texts, 1)}


@dataclass(frozen=True, slots=True)
class Syllables:
    """Syllables by the place in a pulse, as a fraction of its length.

    Args:
        name: Its name.
        beat: What a beat is called; empty for its number.
        halves: Halves and quarters.
        thirds: Thirds of a twofold pulse (a triplet).
        sixths: All places of a twofold pulse that a sextuplet divides.
        compound: Thirds and sixths of a threefold pulse.
        fifths: Fifths.
        other: Any other place.
    """

    name: str
    beat: str
    halves: Mapping[Fraction, str]
    thirds: Mapping[Fraction, str]
    sixths: Mapping[Fraction, str]
    compound: Mapping[Fraction, str]
    fifths: Mapping[Fraction, str] = field(default_factory=dict)
    other: str = UNNAMED

    def syllable(self, pulse: Pulse, place: Fraction, among: Collection[Fraction] = ()) -> str:
        """Return the syllable of a moment.

        Args:
            pulse: The pulse in which it lies.
            place: How far into the pulse, from 0 to less than 1.
            among: The places of all moments of the pulse, which tell a sextuplet from a triplet.
        """
        if not place:
            return self.beat or str(pulse.number)
        if place.denominator == 5:
            return self.fifths.get(place, self.other)
        table = self._table(pulse, place, {*among, place})
        return table.get(place, self.other)

    def _table(self, pulse: Pulse, place: Fraction, among: set[Fraction]) -> Mapping[Fraction, str]:
        if pulse.threefold:
            # Two or four in the time of three are counted like halves and quarters.
            return self.halves if among - {0} <= _DUPLE else self.compound
        if among & {Fraction(1, 6), Fraction(5, 6)}:
            return self.sixths
        return self.halves if place in self.halves else self.thirds


NUMBERS = Syllables(
    "numbers",
    "",
    halves=_table(4, "e", "&", "a"),
    thirds=_table(3, "trip", "let"),
    sixths=_table(6, "trip", "let", "&", "trip", "let"),
    compound=_table(6, "ta", "&", "ta", "a", "ta"),
)
TE_TA = Syllables(
    "te-ta",
    "",
    halves=_table(4, "ti", "te", "ta"),
    thirds=_table(3, "la", "li"),
    sixths=_table(6, "ta", "la", "ta", "li", "ta"),
    compound=_table(6, "ta", "la", "ta", "li", "ta"),
    other="ta",
)
TAKADIMI = Syllables(
    "takadimi",
    "ta",
    halves=_table(4, "ka", "di", "mi"),
    thirds=_table(3, "ki", "da"),
    sixths=_table(6, "va", "ki", "di", "da", "ma"),
    compound=_table(6, "va", "ki", "di", "da", "ma"),
    fifths=_table(5, "ka", "di", "mi", "ti"),
)
SYSTEMS = {system.name: system for system in (NUMBERS, TE_TA, TAKADIMI)}
