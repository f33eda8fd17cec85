"""Run steps one after the other, and prove each result against its input."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import cast

from variants.contract import Promise, check, composed, implied, strongest
from variants.music import UNISON, Interval
from variants.score import Change, Score, with_changes
from variants.score.order import arranged
from variants.score.survey import Survey, survey
from variants.steps import Arranging, Moving, Step, describe_step, parse_step, step_name
from variants.untold import untold


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a run of steps gave.

    Args:
        score: The result.
        steps: The steps that made it.
        kept: What all of them together have kept, without what follows from the rest.
        changes: What they changed, dropped or moved; what reading said is not repeated.
        interval: By how much the music was moved in all; ``None`` if no step moves it.
        order: For each measure the index of the one in the source that it comes from; ``None`` if
            no step takes measures away or writes them again.
    """

    score: Score
    steps: tuple[Step, ...]
    kept: frozenset[Promise]
    changes: tuple[Change, ...]
    interval: Interval | None
    order: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True)
class Pipeline:
    """Steps in a row; a step itself.

    >>> print(parse_pipeline(["transpose:interval=m3", "transpose : semitones=-2"]))
    transpose:interval=m3 -> transpose:semitones=-2
    """

    steps: tuple[Step, ...]

    @property
    def keeps(self) -> frozenset[Promise]:
        """What all the steps together promise."""
        return strongest(_promises(self.steps))

    def __call__(self, score: Score) -> Score:
        """Return the result of all the steps, each proven; see `run`."""
        return run(score, self.steps).score

    def interval_for(self, score: Score) -> Interval:
        """Return by how much all the steps together move a score."""
        return run(score, self.steps).interval or UNISON

    def order_for(self, score: Score) -> tuple[int, ...] | None:
        """Return which measures of a score all the steps together leave, and in which order."""
        return run(score, self.steps).order

    @property
    def names_chords(self) -> bool:
        """Whether one of the steps writes chord symbols, from which roots are told."""
        return any(map(_names_chords, self.steps))

    def __str__(self) -> str:
        return " -> ".join(describe_step(step) for step in self.steps)


def parse_pipeline(texts: Iterable[str]) -> Pipeline:
    """Return the pipeline of steps that are written ``name:key=value,key=value``.

    Raises:
        UsageError: One of them is wrong.
    """
    return Pipeline(tuple(parse_step(text) for text in texts))


def run(score: Score, steps: Sequence[Step]) -> Outcome:
    """Run steps one after the other and check every contract, and that of the whole.

    Raises:
        Refusal: A step cannot be applied; the score is left as it was.
        ContractBroken: A step did not keep what it promises.
    """
    first = current = survey(score)
    moved: list[Interval] = []
    order: tuple[int, ...] | None = None
    is_lost = False
    so_far = implied(Promise)
    for step in steps:
        shift = _shift(step, current.score)
        here = step.order_for(current.score) if isinstance(step, Arranging) else None
        current = _proven(step, current, shift, here)
        moved += [shift] if shift is not None else []
        if here is not None:
            # What a step has moved in time may lie in another measure than in the source.
            is_lost = is_lost or Promise.ONSET_SUBSET not in so_far
            order = here if order is None else tuple(order[index] for index in here if not is_lost)
        so_far = composed(so_far, step.keeps)
    interval = sum(moved, UNISON) if moved else None
    kept = _promises(steps)
    order = None if is_lost else order
    if len(steps) > 1 and not is_lost:
        name = "the whole of the steps"
        check(kept, first, current, shift=interval, order=order, step=name, is_row=True)
    return Outcome(
        score=current.score,
        steps=tuple(steps),
        kept=strongest(kept),
        changes=current.score.changes[len(score.changes) :],
        interval=interval,
        order=order,
    )


def _shift(step: Step, score: Score) -> Interval | None:
    if Promise.SHIFTED_PITCH_CLASSES not in step.keeps:
        return None
    return cast("Moving", step).interval_for(score)


def _proven(
    step: Step, before: Survey, shift: Interval | None, order: tuple[int, ...] | None
) -> Survey:
    result = step(before.score)
    if result is before.score:
        return before
    after = survey(result)
    check(step.keeps, before, after, shift=shift, order=order, step=step_name(step))
    lines = _untold(step, before, after, (shift.semitones if shift else 0, order))
    return replace(after, score=with_changes(result, lines)) if lines else after


def _untold(
    step: Step, before: Survey, after: Survey, moved: tuple[int, tuple[int, ...] | None]
) -> list[Change]:
    """Return a line for all that the step changed and does not say, part by part."""
    shift, order = moved
    kept = implied(step.keeps)
    if not {Promise.ONSET_SUBSET, Promise.MEASURE_LENGTHS} & kept:
        return []  # all times are others, which the step says once for all
    name = step_name(step)
    said = after.score.changes[len(before.score.changes) :]
    lines: list[Change] = []
    waiting = list(before.parts)
    for new in after.parts:
        old = next((one for one in waiting if one.part.id == new.part.id), None)
        if old is None:
            continue
        waiting.remove(old)
        told = {line.measure for line in said if line.part in ("", new.part.id)}
        old = arranged(old, order) if order is not None else old
        if before.score.ticks != after.score.ticks:
            old, new = old.scaled(after.score.ticks), new.scaled(before.score.ticks)  # noqa: PLW2901
        is_new = Promise.ONSET_SUBSET not in kept
        texts = untold(old, new, shift=shift, told=told, is_new=is_new)
        lines += [Change(text, name, part=new.part.id) for text in texts]
    return lines


def _promises(steps: Iterable[Step]) -> frozenset[Promise]:
    kept = implied(Promise)
    names_chords = False
    for step in steps:
        if isinstance(step, Arranging) and Promise.ONSET_SUBSET not in kept:
            return frozenset()
        kept = composed(kept, step.keeps)
        # Roots are told from chord symbols first: after a step that writes them, a root that is
        # kept need not be the one that the notes alone told at the start.
        if names_chords and Promise.PITCH_CLASSES not in implied(step.keeps):
            kept -= {Promise.ROOTS}
        names_chords = names_chords or _names_chords(step)
    return kept


def _names_chords(step: Step) -> bool:
    return bool(getattr(step, "names_chords", False))
