"""Ways to play a piece that are offered as different are different on the page."""

from __future__ import annotations

from pathlib import Path

import pytest

from variants import read
from variants.front_door import wishes
from variants.playing import best_fingerings, ways_to_play
from variants.variant import written

_SAMPLES = Path(__file__).parents[2] / "samples"
_TIED = "X:1\nM:4/4\nL:1/4\nK:C clef=treble-8\n[G,D]- [G,D] [A,E]- [A,E] | [CE]4- | [CE]4 |]\n"


def _sources() -> list[object]:
    return [_SAMPLES / "harbour-riff.musicxml", _TIED]


@pytest.mark.parametrize("source", _sources(), ids=("a riff", "ties"))
def test_no_two_ways_are_one_page(source: object) -> None:
    """The bytes of each are its own, of every way and of the best few fingerings."""
    score = read(source)  # type: ignore[arg-type]
    asked = wishes(places=True)
    for offered in (
        [variant for _, variant in ways_to_play(score, asked)],
        list(best_fingerings(score, asked, 12)),
    ):
        pages = [written(variant.score, places=True) for variant in offered]
        assert len(set(pages)) == len(pages) > 1
