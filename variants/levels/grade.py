"""How hard a piece is, in one figure and four, each from few factors with their weights.

Plain weights, round numbers, chosen by hand among about a dozen mixtures: accidentals, travel of
the hand, crossed strings and new measures are what rises along collections of studies whose author
calls them progressive (Carcassi's op. 60, Aguado's op. 11). `benchmarks.difficulty` measures how
far, on the collections that the choice was made with: none was kept apart. Rhythm and right hand
weigh half of reading and left hand, since studies of one author differ least there.
The whole table of factors stays: a figure says how much, a factor says what and where.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from variants.levels.difficulty import Factor

# Of each area its factors with their weights, which sum to 1.
AREAS: dict[str, dict[str, float]] = {
    "reading": {"accidentals": 0.6, "key": 0.2, "ledger lines": 0.2},
    "rhythm": {"off-beats": 0.5, "values": 0.25, "density": 0.25},
    "left hand": {"shifts": 0.6, "stretch": 0.2, "barres": 0.2},
    "right hand": {"crossings": 0.8, "at once": 0.2},
}
# What the overall figure is made of: areas, and the measures that are not repeated.
OVERALL: dict[str, float] = {
    "reading": 0.25,
    "rhythm": 0.125,
    "left hand": 0.25,
    "right hand": 0.125,
    "new measures": 0.25,
}
_REASONS = 3


@dataclass(frozen=True, slots=True)
class Difficulty:
    """How hard a piece is.

    Args:
        overall: All of it, 0 to 1.
        areas: Reading, rhythm, left hand and right hand, each 0 to 1.
        reasons: The three factors that weigh most in the overall figure, the heaviest first.
    """

    overall: float
    areas: dict[str, float]
    reasons: tuple[Factor, ...]


def weight_of(name: str) -> float:
    """Return what a factor weighs in the overall figure.

    >>> weight_of("accidentals"), weight_of("new measures"), weight_of("fingers")
    (0.15, 0.25, 0.0)
    """
    inner = sum(OVERALL[area] * own.get(name, 0.0) for area, own in AREAS.items())
    return round(inner + (OVERALL[name] if name in OVERALL and name not in AREAS else 0.0), 6)


def difficulty(found: Sequence[Factor]) -> Difficulty:
    """Return how hard a piece is.

    Args:
        found: All of its factors, as `variants.levels.difficulty.factors` returns them.
    """
    values = {one.name: one.value for one in found}
    areas = {
        area: round(sum(weight * values[name] for name, weight in own.items()), 4)
        for area, own in AREAS.items()
    }
    overall = sum(weight * {**values, **areas}[name] for name, weight in OVERALL.items())
    by_weight = sorted(found, key=lambda one: -weight_of(one.name) * one.value)
    reasons = tuple(one for one in by_weight[:_REASONS] if weight_of(one.name) * one.value > 0)
    return Difficulty(round(overall, 4), areas, reasons)
