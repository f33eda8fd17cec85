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
_REDUCED_TO = {"roots": "root", "bottom": "bottom"}
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


def offers(found: Profile, level: Level, stage: int, tune: str = "top") -> Iterator[Offer]:
    """Yield the steps of the stages after ``stage`` that a piece may need for a level.

    Args:
        found: The piece.
        level: The level.
        stage: The last stage that was taken.
        tune: The kind of its tune: chords are reduced to the notes of that line.
    """
    for offer in _all_offers(found, level, tune):
        if offer.stage > stage and offer.text.partition(":")[0] in known_steps():
            yield offer


def _all_offers(found: Profile, level: Level, tune: str) -> Iterator[Offer]:
    blocked = {name for one in found.measures for name in one.blocks(level)}
    if "ornaments" in blocked and level.limits.ornaments is not None:
        there = {kind for one in found.measures for kind in one.ornaments}
        gone = "+".join(sorted(there - set(level.limits.ornaments.value)))
        yield Offer(0, f"drop-ornaments:kinds={gone}")
    if any(one.at_once > 1 for one in found.measures):
        yield from _reductions(level, tune)
    yield Offer(2, "scale-values")
    yield Offer(2, "scale-values:factor=1/2")
    for grid, parts in _GRIDS.items():
        yield Offer(3, f"simplify-rhythm:grid={grid}")
        yield Offer(3, f"simplify-rhythm:grid={grid},keep=strong", _off_grid(found, parts))
    yield Offer(3, "simplify-rhythm:grid=half,keep=strong")


def _reductions(level: Level, tune: str) -> Iterator[Offer]:
    most = level.limits.notes_at_once.value if level.limits.notes_at_once is not None else 6
    if most >= 2:
        yield Offer(1, "reduce-chords:to=dyad")
        yield Offer(1, "reduce-chords:to=dyad,other=third")
    yield Offer(1, f"reduce-chords:to={_REDUCED_TO.get(tune, 'top')}")


def _off_grid(found: Profile, parts: int) -> float:
    """Return the share of onsets that no grid can keep in place.

    Grids count quarters and eighths, so of a beat that is a quarter; for all other beats the least
    common slot of an eighth grid is a half, a third or a quarter of it.
    """
    moments = sum(not moment.grace for one in found.measures for moment in one.moments)
    return sum(one.fine for one in found.measures) / moments if moments and parts == 2 else 0.0
