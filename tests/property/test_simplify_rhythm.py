"""Laws of `simplify-rhythm`."""

from __future__ import annotations

from copy import deepcopy
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import scores
from variants.contract import check
from variants.score import Part, Score, measures, onsets
from variants.score.rescale import rescaled
from variants.steps.rhythm.grid import GRIDS, Grid
from variants.steps.simplify_rhythm import SimplifyRhythm

steps = st.builds(
    SimplifyRhythm, grid=st.sampled_from(sorted(GRIDS)), keep=st.sampled_from(("all", "strong"))
)


def slots(part: Part, step: SimplifyRhythm, ticks: int) -> list[set[int]]:
    """Return the ticks of each measure at which the grid lets a note begin."""
    grid = Grid(part, GRIDS[step.grid], ticks)
    slots = grid.slots(grid.rank)
    return [
        {slot - bar.start for slot in slots if bar.start <= slot < bar.end} for bar in grid.bars
    ]


@settings(max_examples=40)
@given(scores(), steps)
def test_contract_and_once_is_enough(score: Score, step: SimplifyRhythm) -> None:
    """The contract holds, a second run changes nothing, and the input is untouched."""
    before = deepcopy(score)
    result = step(score)
    assert score == before
    check(step.keeps, score, result, step="simplify-rhythm")
    assert step(result) == result


@settings(max_examples=40)
@given(scores(cues=False, microtones=False), steps)
def test_what_was_on_the_grid_stays(score: Score, step: SimplifyRhythm) -> None:
    """An onset on the grid is at the same place afterwards."""
    result = step(score)
    scale = Fraction(result.ticks, score.ticks)
    for old, new in zip(score.parts, result.parts, strict=True):
        after = {(one.measure, Fraction(one.tick)) for one in onsets(new) if not one.grace}
        allowed = slots(old, step, score.ticks)
        for one in onsets(old):
            if not one.grace and one.tick in allowed[one.measure]:
                assert (one.measure, one.tick * scale) in after


@settings(max_examples=40)
@given(scores(), steps)
def test_measures_stay_full(score: Score, step: SimplifyRhythm) -> None:
    """A voice that filled its measure still does, and values last what they say."""
    result = step(score)
    scale = Fraction(result.ticks, score.ticks)
    for old, new in zip(score.parts, result.parts, strict=True):
        for was, now in zip(old.measures, new.measures, strict=True):
            assert now.length == was.length * scale
            voices = {voice.id: voice for voice in now.voices}
            for voice in was.voices:
                filled = sum(event.duration for event in voice.events)
                if filled == was.length:
                    after = sum(event.duration for event in voices[voice.id].events)
                    assert after == now.length
            for event in (event for voice in now.voices for event in voice.events):
                if event.grace is None and event.value.quarters is not None:
                    assert event.value.quarters * result.ticks == event.duration


@settings(max_examples=40)
@given(scores(), steps)
def test_slurs_and_tuplets_keep_both_ends(score: Score, step: SimplifyRhythm) -> None:
    """Every slur and tuplet bracket that begins in a voice ends in it."""
    for part in step(score).parts:
        opened: dict[tuple[str, str], int] = {}
        for view in measures(part, score.ticks):
            for voice in view.measure.voices:
                for mark in (mark for event in voice.events for mark in event.marks):
                    key = (voice.id, mark.family)
                    step_up = {"start": 1, "stop": -1}.get(mark.role, 0)
                    opened[key] = opened.get(key, 0) + step_up
        assert all(number == 0 for number in opened.values())


@settings(max_examples=30)
@given(scores(), steps, st.sampled_from((2, 3, 5)))
def test_ticks_do_not_matter(score: Score, step: SimplifyRhythm, factor: int) -> None:
    """The same music counted in finer ticks becomes the same music."""
    finer = step(rescaled(score, score.ticks * factor))
    plain = step(score)
    shared = finer.ticks * plain.ticks
    assert rescaled(finer, shared) == rescaled(plain, shared)


@settings(max_examples=30)
@given(scores(parts=1))
def test_shifts_are_within_their_metre(score: Score) -> None:
    """A pick-up lacks as much of its metre as it is short."""
    for view in measures(score.parts[0], score.ticks):
        if view.shift:
            assert view.shift + view.measure.length == view.metre.quarters * score.ticks
