"""What the steps on chords choose, against what first books print.

Each case names its source, or says "common practice": what tutors and lead sheets agree on.
"""

from __future__ import annotations

import pytest

from tests.strategies import line, tokens
from variants.pipeline import run
from variants.score import Score
from variants.score.symbols import symbol_name
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


def symbols(score: Score) -> str:
    """Return the chord symbols of a score in order."""
    found = [one for measure in score.parts[0].measures for one in measure.harmonies]
    return " ".join(symbol_name(one) for one in found)


BLOCK_CHORDS = (
    "C3+G3 E4 C3+G3 E4",
    "F2+C3 A3 F3+A3+C4:h",
    "G2+D3 B3 G3+B3 F4",
    "C3+G3:h C3+E3+G3+C4:h",
    "A2+E3 C4 A2+E3 C4",
    "D3+A3 F4 D3+A3 F4",
    "G2+D3 F3 B3 D4",
    "C3+E3+G3+C4:w",
)


def test_a_third_later_in_the_measure_counts() -> None:
    """Symbols stand by the harmony, with thirds where the measure has them; common practice.

    A strummed or picked bar that begins with root and fifth is no power chord where the third
    comes on the second beat, and is named once.
    """
    result = after("harmonize-chords", line(*BLOCK_CHORDS))
    assert symbols(result) == "C F G7 C Am Dm G7 C"


def test_a_melody_alone_gets_no_symbol() -> None:
    """A lead sheet's chord is not told from one note, nor from a scale; common practice."""
    result = after("harmonize-chords", line("C4 D4 E4 F4", "G4:w", "E4+G4:h r", "A4 B4 A4 G4"))
    assert "1/" not in symbols(result)
    tune = after("harmonize-chords", line("C4 D4 E4 F4", "G4:w", "A4 B4 A4 G4"))
    assert symbols(tune) == ""
    assert "nothing is changed" in told(tune)
