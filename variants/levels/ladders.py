"""Which of several plans for each level to take, so that a ladder rises evenly.

A kind of change that an easier level did without should not turn up at a harder one: note values
doubled at level 5 but not at level 4 puzzle a teacher. Where the best plans of the levels do that,
the row of plans is taken whose losses together are least, each kind that turns up costing more
than it is likely to save (our judgement, unvalidated).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from variants.levels.plan import FitPlan
from variants.score import Score

_NEW_KIND = 0.75
_SAME = {"excerpt": "measures"}


def kinds_of(plan: FitPlan) -> frozenset[str]:
    """Return the kinds of change of a plan: its steps by name, but for its place on the neck."""
    placing = len(plan.placed.steps) if plan.placed is not None else 0
    names = (text.partition(":")[0] for text in plan.steps[: len(plan.steps) - placing])
    return frozenset(_SAME.get(name, name) for name in names)


def musical(plan: FitPlan, weights: Mapping[str, float]) -> float:
    """Return the loss of a plan to a listener, who does not see the strings."""
    return plan.total - weights["area"] * plan.losses.get("area", 0.0)


def comes_and_goes(plans: Sequence[FitPlan]) -> bool:
    """Whether a kind of change turns up that the easier level before did without."""
    return any(kinds_of(hard) - kinds_of(easy) for easy, hard in pairwise(plans))


def steadiest(rows: Sequence[Sequence[FitPlan]]) -> list[int]:
    """Return which plan of each level to take, the easiest level first.

    Args:
        rows: The plans of each level, at least one each.

    >>> doubled = FitPlan(("scale-values",), {}, 0.2)
    >>> on_the_beat = FitPlan(("simplify-rhythm:grid=quarter",), {}, 0.1)
    >>> steadiest([[on_the_beat, doubled], [doubled]])
    [1, 0]
    """
    best: list[tuple[float, tuple[int, ...]]] = [
        (plan.total, (at,)) for at, plan in enumerate(rows[0])
    ]
    for before, row in pairwise(rows):
        best = [
            min(
                (cost + plan.total + _NEW_KIND * len(kinds_of(plan) - kinds_of(old)), (*way, at))
                for (cost, way), old in zip(best, before, strict=True)
            )
            for at, plan in enumerate(row)
        ]
    return list(min(best)[1])


def is_same(one: Score, other: Score) -> bool:
    """Whether two versions have the same notes, values and places on the neck."""
    return _played(one) == _played(other)


def _played(score: Score) -> list[object]:
    return [
        (event.onset, event.duration, [(note.pitch, note.place) for note in event.notes])
        for part in score.parts
        for measure in part.measures
        for voice in measure.voices
        for event in voice.events
    ]
