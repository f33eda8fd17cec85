"""How a row of two-note chords lies under the hand: the way with least travel and stretch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from variants.score import Instrument
from variants.steps.places.neck_search import Shape, shapes

# In frets, set by hand: another pair of strings, or another shape under the fingers, is a small
# move of its own, and low on the neck is easier than high.
_OTHER_SHAPE = 1.0
_HIGH = 0.1


@dataclass(frozen=True, slots=True)
class PairsOnNeck:
    """The easiest way to play two-note chords in a row.

    Args:
        effort: Travel and stretch, in frets.
        lowest: The lowest fret of it, open strings counted as 0.
        highest: The highest.
    """

    effort: float
    lowest: int
    highest: int

    @property
    def frets(self) -> str:
        """Its frets in words."""
        if self.lowest == self.highest:
            return f"fret {self.lowest}"
        return f"frets {self.lowest} to {self.highest}"


def easiest_pairs(pairs: Sequence[tuple[int, int]], instrument: Instrument) -> PairsOnNeck | None:
    """Return the easiest way to play two-note chords in a row; ``None`` if one cannot be held.

    A shortest path over the ways to hold each, on neighbouring strings where it can be (common
    practice: what lies on other strings needs a muted one between).

    Args:
        pairs: MIDI numbers of each, the lower first.
        instrument: What they are played on.
    """
    ways: dict[Shape, tuple[float, int, int]] = {}
    for index, pair in enumerate(pairs):
        options = shapes(pair, instrument)
        options = tuple(filter(_is_neighbouring, options)) or options
        if not options:
            return None
        new: dict[Shape, tuple[float, int, int]] = {}
        for shape in options:
            frets = [spot.fret for spot in shape]
            reach = (
                [(cost + _way(last, shape), low, high) for last, (cost, low, high) in ways.items()]
                if index
                else [(0.0, min(frets), max(frets))]
            )
            cost, low, high = min(reach)
            new[shape] = cost + _strain(frets), min(low, *frets), max(high, *frets)
        ways = new
    return PairsOnNeck(*min(ways.values())) if ways else None


def _is_neighbouring(shape: Shape) -> bool:
    low, high = shape
    return low.place.string - high.place.string == 1


def _strain(frets: Sequence[int]) -> float:
    stopped = [fret for fret in frets if fret]
    stretch = max(stopped) - min(stopped) if stopped else 0
    return stretch + _HIGH * sum(frets)


def _way(last: Shape, shape: Shape) -> float:
    """Return what lies between two shapes: the way of the hand, and another shape or strings."""
    before, now = (min((s.fret for s in one if s.fret), default=0) for one in (last, shape))
    travel = abs(now - before) if before and now else 0
    differs = _form(last) != _form(shape)
    return travel + _OTHER_SHAPE * differs


def _form(shape: Shape) -> tuple[tuple[int, ...], int]:
    low, high = shape
    return tuple(spot.place.string for spot in shape), high.fret - low.fret
