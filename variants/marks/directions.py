"""Directions of ours: put among those of the source, known again by their origin."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from variants.score import Direction, Part

# Index of a measure, and what stands in it.
Placed = tuple[int, Direction]


def with_directions(part: Part, placed: Iterable[Placed]) -> Part:
    """Return the part with further directions, in order of time in their measures."""
    by_measure: dict[int, list[Direction]] = {}
    for index, direction in placed:
        by_measure.setdefault(index, []).append(direction)
    if not by_measure:
        return part
    done = tuple(
        replace(
            measure,
            directions=_joined(measure.directions, by_measure[index]),
        )
        if index in by_measure
        else measure
        for index, measure in enumerate(part.measures)
    )
    return replace(part, measures=done)


def _joined(theirs: tuple[Direction, ...], ours: list[Direction]) -> tuple[Direction, ...]:
    joined = (*theirs, *sorted(ours, key=_onset))
    # An order of the source's own is not touched, so that taking ours off gives it back.
    return (
        joined if list(theirs) != sorted(theirs, key=_onset) else tuple(sorted(joined, key=_onset))
    )


def _onset(direction: Direction) -> int:
    return direction.onset


def without_directions(part: Part, origins: Collection[str]) -> Part:
    """Return the part without the directions that we wrote under the given names."""
    if not any(d.origin in origins for m in part.measures for d in m.directions):
        return part
    return replace(
        part,
        measures=tuple(
            replace(
                measure,
                directions=tuple(d for d in measure.directions if d.origin not in origins),
            )
            if any(d.origin in origins for d in measure.directions)
            else measure
            for measure in part.measures
        ),
    )
