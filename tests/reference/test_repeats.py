"""The order of playing against music21, which reads our MusicXML and expands it by itself."""

from __future__ import annotations

from typing import Any

import pytest

from tests.strategies import tokens
from tests.unit.steps.test_expand_repeats import signed
from variants.musicxml import to_bytes
from variants.pipeline import run
from variants.score import Score
from variants.steps.expand_repeats import ExpandRepeats

# A second end of a repeat without a start is left out: music21 goes back to the first measure,
# players to where the first repeat ended (common practice).
CASES = [
    {2: "(:", 3: ":)"},
    {2: ":)"},
    {1: "(:|:)3"},
    {1: "(:", 2: "[1|1]", 3: "[2|2]"},
    {1: "(:", 2: "[1|1]", 3: "[2|2]", 4: "(:", 5: "[1|1]", 6: "[2|2]"},
    {2: "(:", 3: ":)", 5: "(:", 6: ":)"},
    {2: "Fine", 6: "D.C. al Fine"},
]


def expanded(score: Score) -> str:
    """Return the notes in the order in which music21 plays them."""
    from music21 import converter  # slow to import

    parsed: Any = converter.parseData(to_bytes(score), format="musicxml")
    played = parsed.parts[0].expandRepeats()
    return " ".join(
        f"{note.pitch.nameWithOctave}" for note in played.recurse().notes if note.isNote
    )


@pytest.mark.slow
@pytest.mark.parametrize("signs", CASES, ids=str)
def test_as_music21_expands(signs: dict[int, str]) -> None:
    """music21 (repeat.Expander) plays the measures in the order in which we write them out."""
    score = signed(6, signs)
    assert tokens(run(score, [ExpandRepeats()]).score) == expanded(score)
