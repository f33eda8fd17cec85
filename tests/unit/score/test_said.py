"""What a score says of itself in a program: its title, and how much there is of it."""

from __future__ import annotations

import pytest

from tests.strategies import line
from variants.score import Score


@pytest.mark.parametrize(
    ("score", "said"),
    [
        (Score(12, ()), "0 parts, 0 measures"),
        (line("E4:w"), "1 part, 1 measure"),
        (line("E4:w", "F4:w"), "1 part, 2 measures"),
    ],
)
def test_numbers_and_nouns(score: Score, said: str) -> None:
    """None, one, and many."""
    assert repr(score) == f"Score({score.title!r}, {said})"
