"""The steps that a fit may be made of: which are offered for a piece and a level, stage by stage.

A plan takes at most one step of each stage, in this order: ornaments, chords, values, rhythm;
then a range of measures, a key, a folding, a capo, a tempo and a place. Only registered steps are
offered.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from variants.levels.level import Level
from variants.levels.profile import Profile
from variants.steps import list_steps

# Percent of the marked tempo, each a practice tempo that a metronome sheet would show.
TEMPI = (90, 80, 70, 60, 50, 40, 30)
CAPOS = (1, 2, 3, 4, 5, 6, 7)
# Further than two octaves no guitar part moves and still is in range.
MOST_SEMITONES = 24
# A phrase of four measures is the least that is a piece of its own (common practice).
LEAST_MEASURES = 4
_LENGTHS = (48, 32, 24, 16, 12, 8, 4)
_GRIDS = {"eighth": 2, "quarter": 1}


@lru_cache(maxsize=1)
def known_steps() -> frozenset[str]:
    """Return the names of the registered steps."""
    return frozenset(info.name for info in list_steps())


@dataclass(frozen=True, slots=True)
class Offer:
    """A step that may come next in a chain, written; ``off`` is what it cannot keep in place.

    Args:
        stage: Its stage; later steps have a higher one.
        text: The step as it is written.
        off: Share of the onsets that it moves or drops in any case.
    """

    stage: int
    text: str
    off: float = 0.0


def offers(found: Profile, level: Level, stage: int) -> Iterator[Offer]:
    """Yield the steps of the stages after ``stage`` that a piece may need for a level."""
    for offer in _all_offers(found, level):
        if offer.stage > stage and offer.text.partition(":")[0] in known_steps():
            yield offer


def _all_offers(found: Profile, level: Level) -> Iterator[Offer]:
    blocked = {name for one in found.measures for name in one.blocks(level)}
    if "ornaments" in blocked and level.limits.ornaments is not None:
        there = {kind for one in found.measures for kind in one.ornaments}
        gone = "+".join(sorted(there - set(level.limits.ornaments.value)))
        yield Offer(0, f"drop-ornaments:kinds={gone}")
    if any(one.at_once > 1 for one in found.measures):
        yield from _reductions(level)
    yield Offer(2, "scale-values")
    yield Offer(2, "scale-values:factor=1/2")
    for grid, parts in _GRIDS.items():
        yield Offer(3, f"simplify-rhythm:grid={grid}")
        yield Offer(3, f"simplify-rhythm:grid={grid},keep=strong", _off_grid(found, parts))
    yield Offer(3, "simplify-rhythm:grid=half,keep=strong")


def _reductions(level: Level) -> Iterator[Offer]:
    most = level.limits.notes_at_once.value if level.limits.notes_at_once is not None else 6
    if most >= 2:
        yield Offer(1, "reduce-chords:to=dyad")
        yield Offer(1, "reduce-chords:to=dyad,other=third")
    for target in ("top", "root", "bottom"):
        yield Offer(1, f"reduce-chords:to={target}")


def _off_grid(found: Profile, parts: int) -> float:
    """Return the share of onsets that no grid can keep in place.

    Grids count quarters and eighths, so of a beat that is a quarter; for all other beats the least
    common slot of an eighth grid is a half, a third or a quarter of it.
    """
    moments = sum(not moment.grace for one in found.measures for moment in one.moments)
    return sum(one.fine for one in found.measures) / moments if moments and parts == 2 else 0.0


def windows(found: Profile, level: Level) -> list[tuple[int, int]]:
    """Return ranges of measures, as first index and the one past the last, that meet a level.

    The rhythm and texture of every measure in them do. The whole piece comes first where it can
    stay whole; then the longest stretches, and shorter ones that begin with a phrase of four.
    """
    count = len(found.measures)
    most = level.limits.measures.value if level.limits.measures is not None else count
    head = int(found.has_pickup)
    ranges: dict[tuple[int, int], None] = {}
    for first, last in _runs(found, level):
        if first == 0 and last == count and count - head <= most:
            ranges[0, count] = None
        if "measures" not in known_steps():
            continue
        for start, stop in _cuts(first, last, head, most):
            if _can_be_named(found, start, stop) and (start, stop) != (0, count):
                ranges.setdefault((start, stop))
    return list(ranges)


def _runs(found: Profile, level: Level) -> Iterator[tuple[int, int]]:
    start: int | None = None
    for index, measure in enumerate(found.measures):
        if measure.fits(level):
            start = index if start is None else start
        elif start is not None:
            yield start, index
            start = None
    if start is not None:
        yield start, len(found.measures)


def _cuts(first: int, last: int, head: int, most: int) -> Iterator[tuple[int, int]]:
    longest = min(most, last - first)
    for length in dict.fromkeys((longest, *(size for size in _LENGTHS if size < longest))):
        if length < LEAST_MEASURES:
            continue
        starts = [first, *(one for one in range(first, last) if (one - head) % LEAST_MEASURES == 0)]
        for start in dict.fromkeys(starts):
            stop = start + length + (head if start == 0 else 0)
            if stop <= last:
                yield start, stop


def _can_be_named(found: Profile, start: int, stop: int) -> bool:
    """Whether the printed numbers of a range mean just these measures."""
    names = [measure.number for measure in found.measures]
    first, last = names[start], names[stop - 1]
    if not first or not last or "-" in first + last or "," in first + last:
        return False
    return names.index(first) == start and len(names) - 1 - names[::-1].index(last) == stop - 1
