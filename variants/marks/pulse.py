"""The pulses of a measure that a player counts or moves the hand to."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from functools import lru_cache

from variants.music import Metre
from variants.music.metre import Pulse, groups, in_a_row, in_groups, pulse_at
from variants.score import MeasureView, Part, measures


@lru_cache(maxsize=256)
def hand_pulses(metre: Metre) -> tuple[Pulse, ...]:
    """Return the pulses on which the picking hand goes down.

    Quarters, also where a half is counted: the hand does not slow down in cut time. Short notes
    in groups of two and three, 3/8 and 4/8 too.
    """
    lengths: list[tuple[Fraction, bool]] = []
    for unit, sizes in groups(metre, each=False):
        if unit > 1:
            lengths += [(Fraction(1), False)] * int(unit * sum(sizes))
        elif unit < 1 and set(sizes) == {1}:
            lengths += [(size * unit, size == 3) for size in in_groups(len(sizes))]
        else:
            lengths += [(size * unit, size == 3) for size in sizes]
    return in_a_row(lengths)


class PulseGrid:
    """Where the ticks of measures of one metre fall in its pulses; remembers what it was asked.

    Args:
        pulses: The pulses of a full measure.
        ticks: Ticks in a quarter.
        missing: Quarters of the metre that are missing before the measures.
    """

    def __init__(self, pulses: tuple[Pulse, ...], ticks: int, missing: Fraction) -> None:
        self.pulses = pulses
        self.ticks = ticks
        self.missing = missing
        self._at: dict[int, tuple[Pulse, Fraction]] = {}
        self._after: dict[int, tuple[Pulse, int]] = {}

    def at(self, tick: int) -> tuple[Pulse, Fraction]:
        """Return the pulse of a tick, and how far into it the tick lies: 0 to less than 1."""
        found = self._at.get(tick)
        if found is None:
            quarters = Fraction(tick, self.ticks) + self.missing
            found = self._at[tick] = pulse_at(self.pulses, quarters)
        return found

    def after(self, pulse: Pulse) -> tuple[Pulse, int]:
        """Return the next pulse and its tick, rounded down."""
        found = self._after.get(pulse.number)
        if found is None:
            following, _ = pulse_at(self.pulses, pulse.start + pulse.length)
            tick = int((following.start - self.missing) * self.ticks)
            found = self._after[pulse.number] = following, tick
        return found


def grids(
    part: Part, ticks: int, pulses: Callable[[Metre], tuple[Pulse, ...]]
) -> Iterator[tuple[MeasureView, PulseGrid]]:
    """Yield every measure with the grid of its pulses."""
    made: dict[tuple[Metre, Fraction], PulseGrid] = {}
    for view in measures(part, ticks):
        kind = view.metre, view.missing
        if kind not in made:
            made[kind] = PulseGrid(pulses(view.metre), ticks, view.missing)
        yield view, made[kind]
