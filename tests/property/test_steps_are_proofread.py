"""What a step makes of a score has no fault that the score had not: schema and proofreader.

Every example of every step runs over the samples, over two scores that are full of signs, and over
drawn ones.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings

from tests.own_scores import own_scores
from tests.rich import rich
from tests.strategies import STANDARD, scores
from tests.xsd import validate
from variants.errors import Refusal
from variants.finish import finish
from variants.musicxml import read_bytes, to_bytes
from variants.pipeline import run
from variants.proof import Severity, proofread_bytes
from variants.score import Score
from variants.steps import list_steps, parse_step

EXAMPLES = [text for info in list_steps() for text in info.examples]
# Bounds inside the range of a guitar, so that notes move.
NARROW = "fold-octaves:lowest=A2,highest=E4"
SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.musicxml"))
SOURCES = {path.stem: path.read_bytes() for path in SAMPLES} | {
    "rich": rich(chords=False),
    "rich-chords": rich(chords=True),
    "blue-triplets": own_scores()["blue-triplets"],
}

# Nothing is held while something else begins: where a hand cannot reach both, what is written says
# so, and no step is to blame.
DRAWN = scores(
    parts=1,
    voices=1,
    ties=False,
    most_notes=3,
    unpitched=False,
    microtones=False,
    in_range=True,
    instruments=(STANDARD,),
)


def written(score: Score) -> bytes | None:
    """Return a score fingered, marked and written with tab; none where no hand can play it."""
    try:
        return to_bytes(finish(score).score, staves="both")
    except Refusal:
        return None


def errors(data: bytes) -> set[str]:
    """Return the rules that a file breaks."""
    return {one.rule for one in proofread_bytes(data).findings if one.severity is Severity.ERROR}


def new_faults(text: str, source: Score, known: set[str] | None = None) -> list[str] | None:
    """Return what is wrong after a step and was not before; none where it refuses."""
    try:
        made = run(source, [parse_step(text)]).score
    except Refusal:
        return None
    data = written(made)
    if data is None:
        return None
    faults = validate(data)
    found = errors(data)
    if found:
        if known is None:
            before = written(source)
            known = errors(before) if before is not None else found
        faults += sorted(found - known)
    return faults


@cache
def source_of(name: str) -> tuple[Score, set[str]]:
    """Return a source and the rules that it breaks as it is."""
    score = read_bytes(SOURCES[name])
    data = written(score)
    return score, errors(data) if data is not None else set()


@pytest.mark.parametrize("text", [*EXAMPLES, NARROW])
def test_no_new_fault_in_the_samples(text: str) -> None:
    """Each sample is refused, or comes out without an error that it did not have."""
    done = [new_faults(text, *source_of(name)) for name in SOURCES]
    assert [one for one in done if one] == []
    assert any(one is not None for one in done), "refused everywhere"


@pytest.mark.parametrize("text", [*EXAMPLES, NARROW])
@settings(max_examples=5)
@given(score=DRAWN)
def test_no_new_fault_in_drawn_scores(text: str, score: Score) -> None:
    """Whatever is drawn is refused, or comes out without an error that it did not have."""
    assert not new_faults(text, score)
