"""Difficulty factors on made cases: where they are, what they measure, and how they rise."""

from __future__ import annotations

import pytest

from tests.strategies import line
from tests.unit.levels.made import placed
from variants.levels import Factor, factors
from variants.score import Score


def _table(score: Score) -> dict[str, Factor]:
    return {one.name: one for one in factors(score, score.parts[0])}


@pytest.mark.parametrize(
    ("easy", "hard", "name"),
    [
        ("E4 F4 G4 r", "E4 F4 G4 A4", "notes"),
        ("E4 F4 G4 A4", "E4 F4 G4 E5", "range"),
        ("E4 F4 G4 A4", "E4 F4 G4 E5", "ledger lines"),
        ("E4 F4 G4 A4", "E4 F#4 G4 A4", "accidentals"),
        ("E4 F4 G4 A4", "E4:e F4:e G4:h A4", "values"),
        ("E4:h A4:h", "E4:e A4:h.  r:e", "off-beats"),
        ("E4:w | A4:w", "E4:w~ | E4:w", "ties"),
        ("E4 F4 G4 A4", "E4:e F4:e G4:e A4:e E4:h", "density"),
        ("E4 F4 G4 A4", "E4 F4 G4 E4+A4", "at once"),
        ("E4:w", "E4:w | F4:w", "length"),
        ("E4:w | E4:w", "E4:w | F4:w", "new measures"),
        ("C4+E4:h C4+E4:h", "C4+E4:h D4+F4:h", "chord change"),
    ],
)
def test_harder_case_has_the_higher_factor(easy: str, hard: str, name: str) -> None:
    """Of two lines that differ in one thing, its factor is higher in the harder one."""
    low, high = _table(line(*easy.split(" | "))), _table(line(*hard.split(" | ")))
    assert low[name].value < high[name].value
    assert all(0 <= one.value <= 1 for one in (*low.values(), *high.values()))


@pytest.mark.parametrize(
    ("easy", "hard", "name"),
    [
        (("1:0", "1:3/3"), ("1:0", "2:8/3"), "crossings"),
        (("1:0", "1:3/3"), ("1:0", "3:12/3"), "strings apart"),
        (("1:0", "1:3/3"), ("2:5/1", "3:12/3"), "travel"),
        (("1:0", "1:3/3"), ("2:5/1", "3:12/3"), "shift speed"),
        (("1:0", "1:3/3"), ("2:5/1", "2:8/4"), "fingers"),
    ],
)
def test_hand(easy: tuple[str, str], hard: tuple[str, str], name: str) -> None:
    """What the hands do is measured from places and fingers; the notes are the same."""
    low, high = _table(placed("E4:h G4:h", *easy)), _table(placed("E4:h G4:h", *hard))
    assert low[name].value < high[name].value


def test_factor_names_its_hardest_measure() -> None:
    """The measure with most of it, and the reason in words."""
    table = _table(line("E4 F4 G4 A4", "E4:e F4:e G4:e A4:e E4:h"))
    assert table["density"].measure == "2"
    assert table["density"].unit == "onsets/s"
    assert "onsets a second" in table["density"].reason


def test_stretch_in_mm_against_the_hand() -> None:
    """Frets 1 to 3 are 67 mm on a 650 mm scale (trade facts); a small hand's share is larger."""
    score = placed("F2+C3:w", "6:1/1", "5:3/3")
    part = score.parts[0]
    own = {one.name: one for one in factors(score, part)}
    small = {one.name: one for one in factors(score, part, hand="small")}
    assert "67 mm" in own["stretch"].reason
    assert small["stretch"].value > own["stretch"].value


# One made line for each level, each with what its level adds.
RUNGS = (
    "E4 F4 G4 E4 | G4:h E4:h",
    "E4 F4 G4:e F4:e E4 | G4:h C4:h",
    "C3 E3 G3:q. B3:e | C4:e D4:e E4 F#4:h",
    "C3+G3 E4:e G4:q A4:e G4 | C3+E3:h F#4:e G4:q. ",
    "C3+G3+C4 E4:s F4:s G4:e A4:e C5:q B4:e | F2+C3+F3:h G#4:s A4:e. B4:e C5:e",
    "F2+C3+F3+A3+C4+F4 E5:s D5:s C5:s B4:s Bb4:e F5:q. | F#2+C#3+F#3+A#3+C#4+F#4:h D5:s E2:e. B5:q",
)


def test_factors_rise_with_the_level() -> None:
    """On a made line for each level the sum of the factors rises, and each meets its own level."""
    from variants.levels import judged, load_ladder
    from variants.variant import Wishes, make_variant

    wishes = Wishes(reading="concert")
    sums = []
    for level, text in zip(load_ladder(), RUNGS, strict=True):
        score = line(*text.strip().split(" | "))
        assert not judged(score, level, wishes), level.name
        done = make_variant(score, (), wishes).score
        sums.append(sum(one.value for one in factors(done, done.parts[0])))
    assert sums == sorted(sums)
    assert len(set(sums)) == len(sums)
