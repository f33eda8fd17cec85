"""Laws of the proofreader: no false alarm on what the toolkit writes, no crash on anything."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import placed, scores
from tests.unit.musicxml.mutation import mutated
from variants.errors import NeckwiseError
from variants.musicxml import to_bytes
from variants.proof import Severity, proofread_bytes
from variants.proof.fix import fix_bytes, sounds
from variants.proof.reports import FORMATS, render
from variants.score import Score, with_parts

RIFF = (Path(__file__).parents[2] / "samples" / "harbour-riff.musicxml").read_bytes()
ARPEGGIO = (Path(__file__).parents[2] / "samples" / "lantern-arpeggio.musicxml").read_bytes()
# The strategies draw notes, lengths, strings and fingers freely, and a hand, a string or a tab may
# not be able to follow: what these rules say of such draws is true, and no fault of the writer.
FREELY_DRAWN = frozenset({"finger-two-frets", "open-fingered", "stopped-open-finger",
                          "string-twice"})  # fmt: skip


@settings(max_examples=60)
@given(scores(), st.sampled_from(["notation", "tab", "both"]))
def test_written_scores_have_no_errors(score: Score, layout: str) -> None:
    """Whatever the writer writes is free of errors, in every layout."""
    parts = [placed(part) if part.instrument else part for part in score.parts]
    data = to_bytes(with_parts(score, parts), staves=layout, places=True)
    errors = [
        str(one)
        for one in proofread_bytes(data).findings
        if one.severity is Severity.ERROR and one.rule not in FREELY_DRAWN
    ]
    assert errors == []


@settings(max_examples=100)
@given(st.integers(0, 10**6), st.sampled_from([RIFF, ARPEGGIO]))
def test_damaged_files_never_crash(seed: int, data: bytes) -> None:
    """A damaged file is proofread or refused in our own words, and every report can be written."""
    try:
        report = proofread_bytes(mutated(data, seed), file="damaged.musicxml")
    except NeckwiseError:
        return
    for name in FORMATS:
        assert isinstance(render([report], name), str)
    for before, after in pairwise(report.findings):
        same = before.part == after.part and before.measure_index >= 0
        assert not same or before.measure_index <= max(after.measure_index, 0) or not after.measure


@settings(max_examples=50)
@given(st.integers(0, 10**6), st.sampled_from([RIFF, ARPEGGIO]))
def test_corrections_never_move_a_sound(seed: int, data: bytes) -> None:
    """Whatever is corrected, the sounds stay; and corrected once is corrected for good."""
    damaged = mutated(data, seed)
    try:
        fixed = fix_bytes(damaged)
    except NeckwiseError:
        return
    if fixed.made:
        assert sounds(fixed.data) == sounds(damaged)
    assert fix_bytes(fixed.data).made == ()
