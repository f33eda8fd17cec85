"""The pulses of a measure that a player counts or moves the hand to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from variants.music import Metre
from variants.score import MeasureView, Part, measures

_ZERO = Fraction(0)
_ONE = Fraction(1)
# How uneven numbers of short notes are grouped; others in twos with a three at the end. Common
# practice, as they are beamed.
_UNEVEN = {5: (3, 2), 7: (2, 2, 3)}


@dataclass(frozen=True, slots=True)
class Pulse:
    """One pulse of a measure.

    Args:
        number: Counted from 1.
        start: Quarters from the start of the full measure.
        length: Quarters.
        threefold: Whether it divides in three.
    """

    number: int
    start: Fraction
    length: Fraction
    threefold: bool = False


@lru_cache(maxsize=256)
def counted_pulses(metre: Metre, *, each: bool = False) -> tuple[Pulse, ...]:
    """Return the pulses that are counted.

    Args:
        metre: The metre; of no measured one there are none.
        each: Count every note of the lower number where it is 8 or more: 6/8 in six.

    >>> [str(p.length) for p in counted_pulses(Metre(("5",), (8,)))]
    ['3/2', '1']
    """
    lengths: list[tuple[Fraction, bool]] = []
    for unit, sizes in _groups(metre, each=each):
        lengths += [(size * unit, size == 3) for size in sizes]
    return _pulses(lengths)


@lru_cache(maxsize=256)
def hand_pulses(metre: Metre) -> tuple[Pulse, ...]:
    """Return the pulses on which the picking hand goes down.

    Quarters, also where a half is counted: the hand does not slow down in cut time. Short notes
    in groups of two and three, 3/8 and 4/8 too.
    """
    lengths: list[tuple[Fraction, bool]] = []
    for unit, sizes in _groups(metre, each=False):
        if unit > 1:
            lengths += [(_ONE, False)] * int(unit * sum(sizes))
        elif unit < 1 and set(sizes) == {1}:
            lengths += [(size * unit, size == 3) for size in _in_groups(len(sizes))]
        else:
            lengths += [(size * unit, size == 3) for size in sizes]
    return _pulses(lengths)


def _in_groups(count: int) -> tuple[int, ...]:
    if count % 3 == 0:
        return (3,) * (count // 3)
    if count % 2 == 0:
        return (2,) * (count // 2)
    return (2,) * (count // 2 - 1) + (3,) if count > 1 else (1,)


def _groups(metre: Metre, *, each: bool) -> Iterator[tuple[Fraction, tuple[int, ...]]]:
    """Yield for each number of a signature its unit in quarters and the sizes of its pulses."""
    numbers = [
        (int(number), kind)
        for text, kind in zip(metre.beats, metre.beat_types, strict=True)
        for number in text.split("+")
    ]
    added = len(numbers) > 1
    for count, kind in numbers:
        unit = Fraction(4, kind)
        if kind < 8 or each:
            yield unit, (1,) * count
        elif count % 3 == 0 and (count > 3 or added):
            yield unit, (3,) * (count // 3)
        elif added and count == 2:
            yield unit, (2,)
        elif count % 2 and count > 3:
            yield unit, _UNEVEN.get(count, _in_groups(count))
        else:
            yield unit, (1,) * count


def _pulses(lengths: list[tuple[Fraction, bool]]) -> tuple[Pulse, ...]:
    found, start = [], _ZERO
    for number, (length, threefold) in enumerate(lengths, 1):
        found.append(Pulse(number, start, length, threefold))
        start += length
    return tuple(found)


def pulse_at(pulses: tuple[Pulse, ...], quarters: Fraction) -> Pulse:
    """Return the pulse in which a moment lies; past the end the last one goes on repeating."""
    for pulse in pulses:
        if quarters < pulse.start + pulse.length:
            return pulse
    last = pulses[-1]
    more = (quarters - last.start) // last.length
    return Pulse(
        last.number + int(more), last.start + more * last.length, last.length, last.threefold
    )


class Grid:
    """Where the ticks of measures of one metre fall in its pulses; remembers what it was asked.

    Args:
        pulses: The pulses of a full measure.
        ticks: Ticks in a quarter.
        shift: Quarters of the metre that are missing before the measures.
    """

    def __init__(self, pulses: tuple[Pulse, ...], ticks: int, shift: Fraction) -> None:
        self.pulses = pulses
        self.ticks = ticks
        self.shift = shift
        self._at: dict[int, tuple[Pulse, Fraction]] = {}
        self._after: dict[int, tuple[Pulse, int]] = {}

    def at(self, tick: int) -> tuple[Pulse, Fraction]:
        """Return the pulse of a tick, and how far into it the tick lies: 0 to less than 1."""
        found = self._at.get(tick)
        if found is None:
            quarters = Fraction(tick, self.ticks) + self.shift
            pulse = pulse_at(self.pulses, quarters)
            found = self._at[tick] = pulse, (quarters - pulse.start) / pulse.length
        return found

    def after(self, pulse: Pulse) -> tuple[Pulse, int]:
        """Return the next pulse and its tick, rounded down."""
        found = self._after.get(pulse.number)
        if found is None:
            following = pulse_at(self.pulses, pulse.start + pulse.length)
            tick = int((following.start - self.shift) * self.ticks)
            found = self._after[pulse.number] = following, tick
        return found


def shifted_measures(part: Part, ticks: int) -> Iterator[tuple[MeasureView, Fraction]]:
    """Yield every measure with the quarters of its metre that are missing before it.

    The missing time of a pick-up is at its start: a single eighth in 4/4 is the "&" of 4
    (nathanmuehl.com, ob1.21).
    The second half of a measure that a repeat splits goes on where the first half ended.
    """
    left_over = _ZERO
    full_ticks: dict[Metre, Fraction] = {}
    for view in measures(part):
        if view.metre not in full_ticks:
            full_ticks[view.metre] = view.metre.quarters * ticks
        if view.measure.length == full_ticks[view.metre]:
            left_over = _ZERO
            yield view, _ZERO
            continue
        full = view.metre.quarters
        length = Fraction(view.measure.length, ticks)
        shift = _ZERO
        if length < full and (view.measure.is_implicit or view.index == 0):
            continues = left_over and left_over + length <= full and view.measure.is_implicit
            shift = left_over if continues else full - length
        left_over = shift + length if shift + length < full else _ZERO
        yield view, shift
