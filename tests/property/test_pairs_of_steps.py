"""Two steps in a row are the second after the first, for every pair of steps."""

from __future__ import annotations

import pytest

from tests.property.test_steps_are_proofread import SOURCES
from variants.errors import Refusal
from variants.musicxml import read_bytes
from variants.pipeline import Outcome, run
from variants.score import Score
from variants.steps import Step, list_steps, parse_step

FIRST = [info.examples[0] for info in list_steps()]


def tried(score: Score, *steps: Step) -> Outcome | str:
    """Return the outcome, or the refusal's words."""
    try:
        return run(score, steps)
    except Refusal as refusal:
        return str(refusal)


@pytest.mark.parametrize("first", FIRST)
def test_a_row_of_two_is_one_after_the_other(first: str) -> None:
    """Score, log, interval and order of measures are those of the steps run apart."""
    score = read_bytes(SOURCES["harbour-riff"])
    one = tried(score, parse_step(first))
    if isinstance(one, str):
        pytest.skip(one)
    for second in FIRST:
        apart, row = (
            tried(one.score, parse_step(second)),
            tried(score, *map(parse_step, (first, second))),
        )
        if isinstance(apart, str) or isinstance(row, str):
            assert apart == row, second
            continue
        assert row.score == apart.score, second
        assert row.changes == (*one.changes, *apart.changes), second
        if row.order is not None and one.order is not None and apart.order is not None:
            assert row.order == tuple(one.order[index] for index in apart.order), second
