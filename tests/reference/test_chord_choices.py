"""What the steps on chords choose, against what first books print.

Each case names its source, or says "common practice": what tutors and lead sheets agree on.
"""

from __future__ import annotations

import pytest

from tests.strategies import line, tokens
from variants.pipeline import run
from variants.score import Score
from variants.steps import parse_step


def after(step: str, score: Score) -> Score:
    """Return the score after a step, its contract proven."""
    return run(score, [parse_step(step)]).score


def told(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


@pytest.mark.parametrize(
    ("before", "turned"),
    [
        # Riffs in fourths: the root goes down, and the hand stays between frets 0 and 5.
        ("E3+A3 G3+C4 A3+D4 E3+A3", "A2+E3 C3+G3 D3+A3 A2+E3"),
        ("D3+G3 E3+A3 F3+Bb3 G3+C4", "G2+D3 A2+E3 Bb2+F3 C3+G3"),
        # Riffs in fifths: the fifth goes below its root, on the same two frets.
        ("A2+E3 C3+G3 D3+A3 A2+E3", "E2+A2 G2+C3 A2+D3 E2+A2"),
        # E5 has no fifth below on six strings: then it is the root in all of them.
        ("E2+B2 G2+D3 A2+E3 E2+B2", "B2+E3 D3+G3 E3+A3 B2+E3"),
    ],
)
def test_power_chords_turned(before: str, turned: str) -> None:
    """Fifths and fourths of a riff lie low on the neck in one shape; common practice."""
    assert tokens(after("invert-dyads", line(before))) == turned


def test_the_choice_is_told_with_its_frets() -> None:
    """The log says which note moves in all of them, and what the other way would have cost."""
    result = after("invert-dyads", line("E3+A3 G3+C4 A3+D4 E3+A3"))
    assert "the root goes down in all of them: frets 0 to 5, instead of frets" in told(result)
