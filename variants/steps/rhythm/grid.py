"""The grid of `simplify-rhythm`: where a note may begin, and where it may begin if it must.

A quarter grid is the grid of beats. In a compound metre the beat (a dotted quarter in 6/8) takes
the place of the quarter, and two beats that of the half; in an additive metre (3+2/8) the groups
are the beats. Between its slots the grid is refined as the metre divides: a compound beat first
in three, everything else in two.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm

from variants.music import Metre
from variants.score import Part, measures

GRIDS = {"half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2)}


@dataclass(frozen=True, slots=True)
class GridMeasure:
    """One measure as the grid sees it.

    Args:
        start: Ticks from the start of the part.
        length: Ticks that it lasts.
        metre: Metre in force.
        shift: Ticks of the metre that are missing before it (a pick-up).
        slots: Ticks from the start of the part at which the grid lets a note begin.
    """

    start: int
    length: int
    metre: Metre
    shift: int
    slots: tuple[int, ...]

    @property
    def end(self) -> int:
        """Ticks from the start of the part at which it is over."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class Grid:
    """The grid of a part in ``ticks`` to a quarter."""

    step: Fraction
    ticks: int
    bars: tuple[GridMeasure, ...]

    def finer(self, index: int, depth: int) -> list[tuple[int, int]]:
        """Return (tick from the start of the part, level) between the slots of one measure.

        Level 1 is the coarsest refinement; ``depth`` the finest that is given. What is no whole
        tick is left out.
        """
        bar = self.bars[index]
        found: dict[int, int] = dict.fromkeys((slot - bar.start for slot in bar.slots), 0)
        size = (bar.metre, bar.shift, bar.length)
        for level in range(1, depth + 1):
            for tick in _ticks(*size, _units(bar.metre, self.step, level), self.ticks):
                found.setdefault(tick, level)
        return sorted((bar.start + tick, level) for tick, level in found.items() if level)


def grid_of(part: Part, *, step: Fraction, ticks: int, factor: int = 1) -> Grid:
    """Return the grid of a part.

    Args:
        part: The part.
        step: What the grid counts, in quarters.
        ticks: Ticks in a quarter of the part.
        factor: The grid is given in ticks that many times as fine.
    """
    fine = ticks * factor
    bars = []
    for view in measures(part, ticks):
        start, size = view.start * factor, (view.shift * factor, view.measure.length * factor)
        ticks_here = _ticks(view.metre, *size, _units(view.metre, step, 0), fine)
        # The first moment of a measure is a slot even in a pick-up that starts off the grid.
        slots = sorted({0, *ticks_here})
        bars.append(
            GridMeasure(start, size[1], view.metre, size[0], tuple(start + tick for tick in slots))
        )
    return Grid(step, fine, tuple(bars))


def fine_factor(metre: Metre, step: Fraction, depth: int, *, ticks: int) -> int:
    """Return by how much ticks must be multiplied to hold a refinement of that depth."""
    needed = 1
    for level in range(depth + 1):
        unit = _units(metre, step, level)
        for size in (unit,) if unit else metre.beat_lengths:
            needed = lcm(needed, size.denominator)
    return lcm(needed, ticks) // ticks


@lru_cache(maxsize=512)
def _units(metre: Metre, step: Fraction, level: int) -> Fraction | None:
    """Return the distance between slots of a level; ``None`` for the groups of the metre."""
    if _is_additive(metre):
        first = None if step >= 1 else step
        smaller = Fraction(4, max(metre.beat_types))
        if first is not None:
            return first / Fraction(2**level)
        return smaller / Fraction(2 ** (level - 1)) if level else None
    beat = _compound_beat(metre)
    if beat is None:
        return step / Fraction(2**level)
    ladder = [beat * int(step * 3 / 2 / beat)] if step * 3 / 2 >= beat else []
    if ladder and ladder[0] > beat:
        ladder.append(beat)
    ladder.append(beat / 3)
    if level < len(ladder):
        return ladder[level]
    return ladder[-1] / Fraction(2 ** (level - len(ladder) + 1))


def _is_additive(metre: Metre) -> bool:
    return len(metre.beats) > 1 or any("+" in text for text in metre.beats)


def _compound_beat(metre: Metre) -> Fraction | None:
    """Return the beat of a compound metre; 3/8 is one such beat."""
    if metre.is_compound or (metre.beats == ("3",) and metre.beat_types[0] >= 8):
        return 3 * Fraction(4, metre.beat_types[0])
    return None


@lru_cache(maxsize=1024)
def _ticks(
    metre: Metre, shift: int, length: int, unit: Fraction | None, ticks: int
) -> tuple[int, ...]:
    """Return the whole ticks (from the start of a measure) of the moments a unit apart."""
    begin, end = Fraction(shift, ticks), Fraction(shift + length, ticks)
    found = ((moment - begin) * ticks for moment in _moments(metre, unit, end) if moment >= begin)
    return tuple(int(tick) for tick in found if tick.denominator == 1)


@lru_cache(maxsize=1024)
def _moments(metre: Metre, unit: Fraction | None, end: Fraction) -> tuple[Fraction, ...]:
    """Return the moments before ``end``, in quarters from where the metre begins."""
    found: list[Fraction] = []
    base, full = Fraction(0), metre.quarters
    while base < end:
        lengths = metre.beat_lengths if _is_additive(metre) else (full or end,)
        at = base
        for length in lengths:
            step = unit or length
            found += [at + index * step for index in range(-int(-length // step))]
            at += length
        base = at
    return tuple(moment for moment in found if moment < end)
