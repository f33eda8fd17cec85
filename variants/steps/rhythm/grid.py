"""The grid of `simplify-rhythm`: where a note may begin, rank by rank.

Rank 0 are halves, 1 quarters, 2 eighths, 3 16ths and so on, counted from the start of each group of
the metre. A dotted beat of a compound metre takes the place of the quarter, two of them that of the
half, its thirds that of the eighth; in 5/8 and the like each group is a beat. The slots of a rank
are slots of all finer ones.

In 6/8, in eighths: rank 0 ``x.....``, rank 1 ``x..x..``, rank 2 ``xxxxxx``. In 5/8, counted 3+2:
ranks 0 and 1 ``x..x.``, rank 2 ``xxxxx``. In 5/4, in quarters: rank 0 ``x.xx.``, rank 1 ``xxxxx``.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm

from variants.music import Metre
from variants.score import Part, measures
from variants.score.notation import NotationWriter, writers

GRIDS = {"half": 0, "quarter": 1, "eighth": 2}
BEATS = GRIDS["quarter"]
# Finer ones are looked at by nobody: a 64th is the shortest value of lesson books.
DEEPEST = 6
_NAMES = {
    "plain": ("half notes", "quarters", "eighths"),
    "dotted": ("dotted halves", "dotted quarters", "eighths"),
    "short dotted": ("dotted quarters", "dotted eighths", "16ths"),
    "uneven": ("beats", "beats", "eighths"),
}
_SHORT = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class GridMeasure:
    """One measure: ticks from the start of the part, its metre, and what writes it."""

    start: int
    metre: Metre
    writer: NotationWriter

    @property
    def end(self) -> int:
        """Ticks from the start of the part at which it is over."""
        return self.start + self.writer.length


class Grid:
    """The grid of a part.

    Args:
        part: The part.
        rank: What the grid counts.
        ticks: Ticks in a quarter; slots that are no whole ticks are left out.
    """

    def __init__(self, part: Part, rank: int, ticks: int) -> None:
        self.rank = rank
        self.ticks = ticks
        self.bars = tuple(
            GridMeasure(view.start, view.metre, writer)
            for view, writer in zip(measures(part, ticks), writers(part, ticks), strict=True)
        )
        self._slots: dict[int, list[int]] = {}
        self._starts = [bar.start for bar in self.bars]

    @property
    def end(self) -> int:
        """Ticks of the whole part."""
        return self.bars[-1].end if self.bars else 0

    def slots(self, rank: int) -> list[int]:
        """Return the slots of a rank in ticks from the start of the part, its end too."""
        if rank not in self._slots:
            # The first moment of a measure is a slot even in a pick-up that starts off the grid.
            found = {self.end, *self._starts}
            for bar in self.bars:
                writer = bar.writer
                sizes = (bar.metre, rank, writer.shift, writer.length, self.ticks)
                found.update(bar.start + tick for tick in _ticks(*sizes))
            self._slots[rank] = sorted(found)
        return self._slots[rank]

    @property
    def rests(self) -> list[int]:
        """The slots on which a silence is a rest that stays: beats, or slots that are finer."""
        return self.slots(max(self.rank, BEATS))

    def rank_of(self, time: int) -> int:
        """Return the first rank that has a slot at a time; -1 for the start of a measure."""
        bar = self.bars[self.measure_at(time)]
        if time == bar.start and not bar.writer.shift:
            return -1
        for rank in range(DEEPEST + 1):
            slots = self.slots(rank)
            if slots[bisect_right(slots, time) - 1] == time:
                return rank
        return DEEPEST + 1

    def is_tuplet(self, time: int) -> bool:
        """Whether no halving of quarters reaches a time."""
        bar = self.bars[self.measure_at(time)]
        below = Fraction(time - bar.start + bar.writer.shift, self.ticks).denominator
        return below & (below - 1) != 0

    def measure_at(self, time: int) -> int:
        """Return the index of the measure in which a time of the part lies."""
        return max(0, bisect_right(self._starts, time) - 1)

    def name(self) -> str:
        """Return what the grid counts, for people: a compound metre counts dotted beats."""
        kinds = dict.fromkeys(_kind(bar.metre) for bar in self.bars) or {"plain": None}
        return " and ".join(dict.fromkeys(_NAMES[kind][self.rank] for kind in kinds))


def ticks_for(part: Part, rank: int, ticks: int) -> int:
    """Return the ticks in a quarter with which all slots of a rank are whole."""
    needed = ticks
    for metre in {view.metre for view in measures(part, ticks)}:
        for start, _, unit in _feet(metre, rank):
            needed = lcm(needed, start.denominator, unit.denominator)
    return needed


def _kind(metre: Metre) -> str:
    units = {Fraction(4, kind) for kind in metre.beat_types}
    if metre.is_compound:
        return "dotted" if min(units) == _SHORT else "short dotted"
    uneven = any(unit <= _SHORT for unit in units) and (
        len(metre.beats) > 1 or "+" in metre.beats[0] or int(metre.beats[0]) in {5, 7, 11, 13}
    )
    return "uneven" if uneven else "plain"


@lru_cache(maxsize=512)
def _feet(metre: Metre, rank: int) -> tuple[tuple[Fraction, Fraction, Fraction], ...]:
    """Return start, length and distance of slots of each group of a metre, in quarters."""
    found = []
    at = Fraction(0)
    for text, kind in zip(metre.beats, metre.beat_types, strict=True):
        for number in text.split("+"):
            for length, units in _split(int(number), Fraction(4, kind), alone=text == number):
                unit = units[rank] if rank < 3 else units[2] / 2 ** (rank - 2)
                found.append((at, length, unit))
                at += length
    return tuple(found)


def _split(
    count: int, unit: Fraction, *, alone: bool
) -> Iterator[tuple[Fraction, tuple[Fraction, ...]]]:
    """Yield the groups of so many units, as they are counted: length, distances by rank."""
    plain = (Fraction(2), Fraction(1), Fraction(1, 2))
    if unit > _SHORT:
        sizes = {5: (3, 2), 7: (4, 3)}.get(count, (3,) * (count // 3) if count % 3 == 0 else ())
        for size in sizes or (count,):
            yield size * unit, plain
    elif count % 3 == 0 and (count > 3 or not alone):
        yield count * unit, (6 * unit, 3 * unit, unit)
    elif count % 2 and count > 3:
        sizes = {5: (3, 2)}.get(count, (2,) * (count // 2 - 1) + (3,))
        for size in sizes:
            yield size * unit, (size * unit, size * unit, unit)
    else:
        yield count * unit, plain


@lru_cache(maxsize=4096)
def _ticks(metre: Metre, rank: int, shift: int, length: int, ticks: int) -> tuple[int, ...]:
    """Return the slots of a measure in whole ticks from its start."""
    begin, end = Fraction(shift, ticks), Fraction(shift + length, ticks)
    moments = ((moment - begin) * ticks for moment in _moments(metre, rank, end))
    return tuple(int(tick) for tick in moments if tick >= 0 and tick.denominator == 1)


def _moments(metre: Metre, rank: int, end: Fraction) -> Iterator[Fraction]:
    """Yield the slots before ``end``, in quarters from where the metre begins."""
    feet = _feet(metre, rank) or ((Fraction(0), end, Fraction(2) / 2**rank),)
    base = Fraction(0)
    while base < end:
        for start, length, unit in feet:
            for number in range(-int(-length // unit)):
                if base + start + number * unit < end:
                    yield base + start + number * unit
        base += metre.quarters or end
