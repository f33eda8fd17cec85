"""The overall figure and the four areas: weights, reasons, and orders that a teacher expects."""

from __future__ import annotations

from itertools import pairwise

import pytest

from tests.cli.calling import SAMPLES
from variants.levels import Difficulty, NoFit, difficulty, factors, load_ladder
from variants.levels.fit import Fitter
from variants.levels.grade import AREAS, OVERALL
from variants.musicxml import Reading, read, settle_octaves
from variants.score import Score, with_parts
from variants.steps import parse_step
from variants.variant import Wishes, make_variant


def _hard(score: Score) -> Difficulty:
    return difficulty(factors(score, score.parts[0]))


def _made(score: Score, *steps: str) -> Score:
    return make_variant(score, [parse_step(one) for one in steps], Wishes()).score


def test_weights_sum_to_one() -> None:
    """A figure is a mean of its factors, so that it lies between 0 and 1 as they do."""
    assert sum(OVERALL.values()) == pytest.approx(1)
    for own in AREAS.values():
        assert sum(own.values()) == pytest.approx(1)


@pytest.mark.parametrize("string", [6, 5, 4])
def test_one_string_is_no_harder_for_the_left_hand(string: int) -> None:
    """A riff's roots on one string beside its fourths, which shift up and down the neck.

    Common practice: one string is first-year material, shifts of two-note shapes are not.
    """
    riff = read(SAMPLES / "harbour-riff.musicxml")
    shifting = _hard(_made(riff, "invert-dyads:move=lower"))
    alone = _hard(_made(riff, "reduce-chords:to=root", f"single-string:string={string}"))
    assert alone.areas["left hand"] <= shifting.areas["left hand"]


@pytest.mark.parametrize("name", ["amazing-grace", "auld-lang-syne", "low-tide-study"])
def test_the_ladder_rises(name: str) -> None:
    """A harder level's version is no easier, all in all."""
    score = settle_octaves(read(SAMPLES / f"{name}.musicxml"), Reading.AUTO)
    score = with_parts(score, score.parts[:1])
    fits = Fitter(score, Wishes()).ladder(load_ladder())
    found = [_hard(one.variant.score).overall for one in fits if not isinstance(one, NoFit)]
    assert len(found) == 6
    for easy, hard in pairwise(found):
        assert hard >= easy - 0.02


def test_reasons_are_the_heaviest_factors() -> None:
    """At most three, each with a weight and words, the heaviest first."""
    found = _hard(_made(read(SAMPLES / "lantern-arpeggio.musicxml")))
    assert 1 <= len(found.reasons) <= 3
    assert all(one.reason and one.value > 0 for one in found.reasons)
    assert 0 < found.overall < 1
