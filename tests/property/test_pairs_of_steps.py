"""Two steps in a row are the second after the first, for every pair of steps."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Golden
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


KEPT = Path(__file__).parents[1] / "golden" / "kept"
# One of each kind of step: moves, cuts, plays out, changes rhythm, drops, writes chords, folds.
SECOND = (
    "transpose:interval=m3",
    "measures",
    "expand-repeats",
    "simplify-rhythm",
    "reduce-chords:to=root",
    "harmonize-chords",
    "fold-octaves",
    "shift-position:position=5",
)


@pytest.mark.parametrize("first", FIRST)
def test_exactly_what_is_kept(first: str, golden: Golden) -> None:
    """What a row of two keeps is neither less nor more than what is written down for it."""
    score = read_bytes(SOURCES["harbour-riff"])
    lines = []
    for second in SECOND:
        row = tried(score, parse_step(first), parse_step(second))
        kept = row if isinstance(row, str) else ", ".join(sorted(one.value for one in row.kept))
        lines.append(f"{first} -> {second}: {kept or 'nothing'}\n")
    golden(KEPT / f"{first.partition(':')[0]}.txt", "".join(lines))
