"""Where a line of music may end: not within an ending or after a pick-up, best between phrases."""

from __future__ import annotations

from variants.errors import NeckwiseError
from variants.score import Part, Score, with_parts
from variants.tune.line import tune_of
from variants.tune.phrases import phrase_starts

_UNTIL = frozenset({"stop", "discontinue"})


def glued_measures(part: Part) -> frozenset[int]:
    """Return the measures that belong to the one before them on its line.

    Within an ending of several measures, and behind a measure that is not counted (a pick-up, or
    what a repeat sign cuts off).
    """
    found = set()
    inside = False
    for index, measure in enumerate(part.measures):
        kinds = {one.ending[1] for one in measure.barlines if one.ending is not None}
        if (inside and "start" not in kinds) or (index and part.measures[index - 1].is_implicit):
            found.add(index)
        inside = (inside or "start" in kinds) and not kinds & _UNTIL
    return frozenset(found)


def phrase_measures(score: Score) -> frozenset[int]:
    """Return the measures with which a phrase begins, its up-beat aside; none if none is heard."""
    part = next((one for one in score.parts if one.instrument is not None), score.parts[0])
    try:
        found = phrase_starts(with_parts(score, [part]), tune_of(part))
    except NeckwiseError:
        # A score without a tune: lines then end where the width says.
        return frozenset()
    return frozenset(round(start) for start in found.starts)
