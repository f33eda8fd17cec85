"""Whoever plays a score plays its measures in one order: the step, the sound and the page."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import tokens
from tests.unit.steps.test_expand_repeats import signed
from variants.performance.sounding import sounds
from variants.pipeline import run
from variants.score import Score
from variants.score.playing import playing
from variants.sheets.midi import to_midi
from variants.sheets.review.timeline import timeline as review_timeline
from variants.steps.expand_repeats import ExpandRepeats

SIGNS = (
    "(:", ":)", ":)3", "[1|1]", "[2|2]", "D.C. al Fine", "D.S. al Coda", "To Coda", "Fine",
    "segno", "coda",
)  # fmt: skip
NO_SIGN = "no sign says where the repeat at the end of measure 4 begins: it goes back to measure 3"
maps = st.dictionaries(st.integers(1, 6), st.sampled_from(SIGNS), max_size=5)


def heard(score: Score, *, repeats: bool) -> list[tuple[Fraction, int]]:
    """Return when which key is struck."""
    return [(one.start, one.midi) for one in sounds(score, score.parts[0], repeats=repeats)]


@settings(max_examples=120)
@given(maps)
def test_step_sound_and_page_play_alike(signs: dict[int, str]) -> None:
    """What is written out sounds, played once through, as the source does with its signs."""
    score = signed(6, signs)
    found = playing(score)
    page = review_timeline(score)
    assert tuple(index for index, *_ in page["order"]) == found.order
    if found.lost is not None:
        assert found.doubts
        return
    written = run(score, [ExpandRepeats()])
    assert heard(written.score, repeats=False) == heard(score, repeats=True)
    told = [change.message for change in written.score.changes]
    assert all(doubt in told for doubt in found.doubts)


@pytest.mark.parametrize(
    ("signs", "order", "doubts"),
    [
        ({2: "Fine", 4: "D.C. al Fine"}, "1 2 3 4 1 2", []),
        (
            {4: "D.C. al Fine"},
            "1 2 3 4 1 2 3 4 5",
            ["it says al Fine, and there is no Fine: it is played to the end"],
        ),
        (
            {2: ":)", 3: "Fine", 5: "D.C. al Fine"},
            "1 2 1 2 3 4 5 1 2 3",
            ["after the jump back repeats are not taken again"],
        ),
        (
            {2: ":)", 4: ":)"},
            "1 2 1 2 3 4 3 4 5",
            [NO_SIGN],
        ),
        (
            {3: "ds"},
            "1 2 3 4 5",
            ["a jump leads to a segno, and there is none: it is not taken"],
        ),
    ],
)  # fmt: skip
def test_doubts_are_told(signs: dict[int, str], order: str, doubts: list[str]) -> None:
    """What the signs leave open is taken as players take it (common practice), and said."""
    found = playing(signed(5, signs))
    assert " ".join(str(index + 1) for index in found.order) == order
    assert list(found.doubts) == doubts
    assert all(doubt.encode() in to_midi(signed(5, signs)) for doubt in doubts)


def test_da_capo_al_fine_sounds() -> None:
    """Four notes and a da capo to the second sound as six."""
    score = signed(4, {2: "Fine", 4: "D.C. al Fine"})
    assert len(heard(score, repeats=True)) == 6
    assert tokens(run(score, [ExpandRepeats()]).score) == "C3 D3 E3 F3 C3 D3"
