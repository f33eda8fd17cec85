"""The step `add-bass`: roots under a melody, nothing of the melody touched."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.strategies import line
from variants.contract import Promise
from variants.errors import Refusal
from variants.musicxml import read
from variants.pipeline import run
from variants.score import Score, timeline
from variants.steps import parse_step

SAMPLES = Path(__file__).parents[3] / "samples"


def _heard(score: Score) -> list[tuple[int, int, str]]:
    return [(take.start, take.end, str(take.pitch)) for take in timeline(score.parts[0]).takes]


@pytest.mark.parametrize("text", ["add-bass", "add-bass:strike=chords"])
def test_the_melody_is_untouched(text: str) -> None:
    """Every note of the source is still there, as long as it was; what is new lies below it."""
    source = read(SAMPLES / "amazing-grace.musicxml")
    outcome = run(source, [parse_step(text)])
    before, after = _heard(source), _heard(outcome.score)
    assert Promise.SOURCE_NOTES in outcome.kept
    assert set(before) <= set(after)
    assert len(after) > len(before)


def test_roots_in_the_lowest_octave() -> None:
    """G, C, D and E minor lie between E2 and D sharp 3 on a guitar: G2, C3, D3, E2."""
    source = read(SAMPLES / "amazing-grace.musicxml")
    new = set(_heard(parse_step("add-bass")(source))) - set(_heard(source))
    assert {name for _, _, name in new} <= {"G2", "C3", "D3", "E2", "B2", "A2"}
    assert {"G2", "C3"} <= {name for _, _, name in new}


def test_strike_chords_holds_over_measures_without_a_symbol() -> None:
    """With strike=chords no note is struck where no chord begins."""
    source = read(SAMPLES / "amazing-grace.musicxml")
    symbols = sum(len(measure.harmonies) for measure in source.parts[0].measures)
    new = set(_heard(parse_step("add-bass:strike=chords")(source))) - set(_heard(source))
    assert len(new) <= symbols < len(set(_heard(parse_step("add-bass")(source))))


def test_without_symbols() -> None:
    """Without chord symbols it says what would help."""
    with pytest.raises(Refusal, match=r"no chord symbols.*put harmonize-chords before it"):
        parse_step("add-bass")(line("E4 F4 G4:h"))
