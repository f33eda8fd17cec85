"""The whole description of a part."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cli.calling import SAMPLES
from tests.own_scores import own_scores
from tests.strategies import scores
from variants.music import Interval
from variants.musicxml import read, read_bytes
from variants.score import Score
from variants.survey import describe_part, positions_text
from variants.survey.pitches import written_interval


def test_pickups() -> None:
    """A quarter in 4/4 is one beat, two 16ths in 6/8 are a third of one."""
    expected = {"auld-lang-syne": Fraction(1), "irish-washerwoman": Fraction(1, 3)}
    for name, beats in expected.items():
        score = read(SAMPLES / f"{name}.musicxml")
        assert describe_part(score, score.parts[0]).pickup_beats == beats
    riff = read(SAMPLES / "harbour-riff.musicxml")
    assert describe_part(riff, riff.parts[0]).pickup_beats == 0


def test_nothing_fingered() -> None:
    """Nothing fingered, nothing to say of positions."""
    assert positions_text([]) == ""


@settings(max_examples=40)
@given(scores(), st.data())
def test_any_score(score: Score, data: st.DataObject) -> None:
    """Whatever the model holds can be described, and counts are counts."""
    part = data.draw(st.sampled_from(score.parts))
    facts = describe_part(score, part)
    assert facts.measures == len(part.measures)
    assert facts.voices <= max((len(m.voices) for m in part.measures), default=0)
    assert min(facts.placed, facts.fingered, facts.repeats) >= 0
    assert facts.pickup_beats >= 0
    assert facts.metres


def test_every_ending_is_named() -> None:
    """First and second time by their numbers, each once."""
    score = read_bytes(own_scores()["ferry-jig"])
    assert describe_part(score, score.parts[0]).endings == ("1", "2")


def test_a_clef_with_an_octave_is_written_an_octave_higher() -> None:
    """Of a part that is not strung: the pitch sounds, the clef shows it seven steps up."""
    part = replace(read_bytes(own_scores()["ferry-jig"]).parts[0], instrument=None)
    assert written_interval(part) == Interval.parse("P8")
