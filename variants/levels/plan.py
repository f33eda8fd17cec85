"""Plans: pipelines of steps before and after they are made, and the sums that bound them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from variants.levels.place import Placed
from variants.levels.profile import MeasureProfile
from variants.levels.workshop import Chain, Node
from variants.music import Key
from variants.music.key import spelled

_C_MAJOR = Key(0)


@dataclass(frozen=True, slots=True)
class FitPlan:
    """A pipeline of steps, and what it gives up.

    Args:
        steps: The steps, written as `vary` takes them.
        losses: Each kind of loss from 0 to 1.
        total: Their weighted sum.
        placed: The fingered version; ``None`` in a plan that only comes near a level.
        blocked: Limits that it breaks, with words; none in a plan that meets the level.
    """

    steps: Chain
    losses: dict[str, float] = field(hash=False)
    total: float
    placed: Placed | None = None
    blocked: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Window:
    """Whole phrases that follow each other, as a range of measures.

    Args:
        first: Index of the measure in which the first of them begins.
        stop: Index after that of the measure in which the last one ends.
        begin: Where it begins within its first measure, as `excerpt` takes it; empty for its start.
        end: Where its last notes begin, likewise; empty for all of its last measure.
        ending: How little its end is a close, 0 to 1.
        places: Where its first note stands in its first measure and its last one in its last,
            as `variants.levels.profile.ProfiledMoment` counts; -1 as the second: anywhere.
    """

    first: int
    stop: int
    begin: str = ""
    end: str = ""
    ending: float = 0.0
    places: tuple[int, int] = (0, -1)

    def heights(self, found: Sequence[MeasureProfile]) -> Counter[int]:
        """Return how often each MIDI number is struck in it; ``found`` is the whole piece."""
        part = found[self.measures]
        counts: Counter[int] = Counter()
        for index, measure in enumerate(part):
            for moment in measure.moments:
                is_before = not index and moment.place < self.places[0]
                is_after = index == len(part) - 1 and 0 <= self.places[1] < moment.place
                if not is_before and not is_after:
                    counts.update(moment.midi)
        return counts

    @property
    def measures(self) -> slice:
        """The slice of a row of measures."""
        return slice(self.first, self.stop)


@dataclass(frozen=True, slots=True)
class Leaf:
    """A whole plan before it is made: phrases of a node, moved, folded and slowed."""

    node: Node
    window: Window
    semitones: int = 0
    fold: tuple[int, int] | None = None
    capo: int = 0
    percent: int = 100
    # 0: by how many notes are folded; 1: by where they are folded; 2: its true loss.
    bounded: int = 0


def chain_of(leaf: Leaf) -> Chain:
    """Return the steps of a plan before its place on the neck, written."""
    texts = [*leaf.node.chain, *cut_of(leaf)]
    if leaf.semitones:
        texts.append(f"transpose:semitones={leaf.semitones}")
    if leaf.fold:
        low, high = (spelled(midi, _C_MAJOR) for midi in leaf.fold)
        texts.append(f"fold-octaves:move=phrases,lowest={low},highest={high}")
    if leaf.capo:
        texts.append(f"capo:fret={leaf.capo}")
    if leaf.percent != 100:
        texts.append(f"slow:percent={leaf.percent}")
    return tuple(texts)


def cut_of(leaf: Leaf) -> Chain:
    """Return the step that takes the phrases of a plan out of the piece; none for all of it."""
    found, window = leaf.node.profile.measures, leaf.window
    first, last = found[window.first].number, found[window.stop - 1].number
    if window.begin or window.end:
        begin = f"begin={first}/{window.begin or 1}"
        end = f"end={last}/{window.end}" if window.end else ""
        if not end and window.stop < len(found):
            return (f"measures:range=-{last}", f"excerpt:{begin}")
        return (f"excerpt:{begin},{end}" if end else f"excerpt:{begin}",)
    if (window.first, window.stop) != (0, len(found)):
        return (f"measures:range={first}-{last}",)
    return ()


def octaves_into(midi: int, low: int, high: int) -> int:
    """Return by how many octaves a note must move to lie in a range.

    >>> octaves_into(60, 55, 67), octaves_into(70, 55, 67), octaves_into(30, 55, 67)
    (0, -1, 3)
    """
    if midi < low:
        return -((midi - low) // 12)
    return -((midi - high + 11) // 12) if midi > high else 0


def least_way(semitones: int, octaves: int) -> int:
    """Return the least semitones from where a note was, if it moves so many octaves or further."""
    if not octaves:
        return abs(semitones)
    further = (octaves + (step if octaves > 0 else -step) for step in range(3))
    return min(abs(semitones + 12 * one) for one in further)


def nearness(plan: FitPlan) -> tuple[bool, int, float]:
    """Return what orders plans that fail: those that fail on the neck alone come nearest."""
    on_neck = all(name in {"shift", "stretch", "barres", "areas"} for name, _ in plan.blocked)
    return not on_neck, len(plan.blocked), plan.total


def slowed_rate(one: MeasureProfile, practice: float, percent: int) -> float:
    """Return onsets in a second at a slower tempo; without a mark `slow` supposes 120."""
    if percent == 100:
        return one.rate(practice)
    return one.rate(120.0) * percent / 100


def nearest_fifths(fifths: int, semitones: int) -> int:
    """Return the simplest signature of the key that lies so many semitones away."""
    place = (fifths + 7 * semitones) % 12
    return place - 12 if place > 6 else place
