"""What simplify-rhythm says of durations that no note value writes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line
from variants.errors import Refusal
from variants.score import Score, Voice, with_parts
from variants.steps import SimplifyRhythm


def of_length(ticks: int) -> Score:
    """Return two notes in a measure of so many 68ths of a quarter."""
    score = line("E4:w", ticks=68)
    (part,) = score.parts
    first = part.measures[0].voices[0].events[0]
    both = (replace(first, duration=ticks - 9), replace(first, onset=ticks - 9, duration=9))
    measure = replace(part.measures[0], length=ticks, voices=(Voice("1", both),))
    return with_parts(score, [replace(part, measures=(measure,))])


def test_durations_that_cannot_be_written_are_refused_at_their_place() -> None:
    """A measure of 261/68 quarters, as files of performances have, gives place and way out."""
    with pytest.raises(Refusal, match=r"^measure 1, beat 1: what is left of a duration") as caught:
        SimplifyRhythm()(of_length(261))
    assert caught.value.way_out
