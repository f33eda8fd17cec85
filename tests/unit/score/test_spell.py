"""How durations are written. The expected spellings are common practice in engraving."""

from __future__ import annotations

from fractions import Fraction

import pytest

from variants.errors import UsageError
from variants.music import Metre
from variants.score import Measure, Part
from variants.score.signs import Attributes
from variants.score.spell import spell
from variants.score.timeline import measures as timed

TICKS = 240
FOUR, THREE, SIX = Metre(), Metre(("3",), (4,)), Metre(("6",), (8,))
TWELVE, NINE, FIVE = Metre(("12",), (8,)), Metre(("9",), (8,)), Metre(("3+2",), (8,))


def written(onset: str, length: str, metre: Metre, *, rest: bool = False) -> list[str]:
    """Return the values that write a duration given in quarters."""
    pieces = spell(
        int(Fraction(onset) * TICKS), int(Fraction(length) * TICKS), metre, ticks=TICKS, rest=rest
    )
    return [str(value) for _, _, value in pieces]


@pytest.mark.parametrize(
    ("onset", "length", "expected"),
    [
        ("0", "4", ["whole"]),
        ("0", "3", ["dotted half"]),
        ("1", "3", ["dotted half"]),
        ("1", "2", ["half"]),  # quarter, half, quarter is read as it stands
        ("0", "5/2", ["half", "eighth"]),
        ("0", "7/2", ["half", "dotted quarter"]),
        ("1/2", "1", ["quarter"]),  # eighth, quarter, eighth
        ("1/2", "3/2", ["dotted quarter"]),
        ("1/2", "2", ["dotted quarter", "eighth"]),  # the middle of the measure shows
        ("3/2", "1", ["eighth", "eighth"]),
        ("5/2", "3/2", ["dotted quarter"]),
        ("3/4", "1/2", ["16th", "16th"]),  # the beat shows
        ("1/4", "1/2", ["eighth"]),
        ("1/4", "3/4", ["dotted eighth"]),
        ("0", "5/4", ["quarter", "16th"]),
    ],
)
def test_common_time(onset: str, length: str, expected: list[str]) -> None:
    """In 4/4 the half measure and the beats stay visible. Common practice."""
    assert written(onset, length, FOUR) == expected


@pytest.mark.parametrize(
    ("metre", "onset", "length", "expected"),
    [
        (THREE, "0", "3", ["dotted half"]),
        (THREE, "1", "2", ["half"]),
        (THREE, "0", "3/2", ["dotted quarter"]),
        (THREE, "3/2", "3/2", ["eighth", "quarter"]),  # not two dotted quarters
        (SIX, "0", "3", ["dotted half"]),
        (SIX, "0", "3/2", ["dotted quarter"]),
        (SIX, "1/2", "1", ["quarter"]),
        (SIX, "1", "1", ["eighth", "eighth"]),
        (SIX, "0", "2", ["dotted quarter", "eighth"]),
        (NINE, "3/2", "3", ["dotted half"]),
        (NINE, "0", "9/2", ["dotted half", "dotted quarter"]),
        (TWELVE, "0", "6", ["dotted whole"]),
        (TWELVE, "3/2", "3", ["dotted quarter", "dotted quarter"]),
        (FIVE, "0", "5/2", ["dotted quarter", "quarter"]),
        (FIVE, "3/2", "1", ["quarter"]),
    ],
)
def test_other_metres(metre: Metre, onset: str, length: str, expected: list[str]) -> None:
    """Three beats, compound beats and uneven groups stay visible. Common practice."""
    assert written(onset, length, metre) == expected


@pytest.mark.parametrize(
    ("metre", "onset", "length", "expected"),
    [
        (FOUR, "0", "3", ["half", "quarter"]),
        (FOUR, "1", "3", ["quarter", "half"]),
        (FOUR, "1", "2", ["quarter", "quarter"]),
        (FOUR, "0", "3/2", ["quarter", "eighth"]),
        (THREE, "0", "2", ["quarter", "quarter"]),
        (SIX, "0", "3/2", ["dotted quarter"]),
        (SIX, "0", "1", ["quarter"]),
        (SIX, "1/2", "1", ["eighth", "eighth"]),
        (TWELVE, "0", "3", ["dotted half"]),
    ],
)
def test_rests(metre: Metre, onset: str, length: str, expected: list[str]) -> None:
    """Rests show every beat, with a dot in compound beats only. Common practice."""
    assert written(onset, length, metre, rest=True) == expected


@pytest.mark.parametrize(
    ("onset", "length", "expected"),
    [
        ("1/3", "1/3", ["eighth (3:2)"]),
        ("2/3", "2/3", ["quarter (3:2)"]),
        ("0", "4/3", ["half (3:2)"]),
        ("1/3", "5/3", ["quarter (3:2)", "quarter"]),
        ("1/5", "3/5", ["dotted eighth (5:4)"]),
    ],
)
def test_tuplets(onset: str, length: str, expected: list[str]) -> None:
    """A moment that no halving reaches is written in the smallest tuplet that holds it."""
    assert written(onset, length, FOUR) == expected


def test_pick_up_counts_from_the_end_of_its_metre() -> None:
    """In a pick-up of three eighths the beats are those that end the measure."""
    pieces = spell(0, 360, FOUR, ticks=TICKS, shift=600)
    assert [str(value) for _, _, value in pieces] == ["dotted quarter"]
    pieces = spell(0, 240, FOUR, ticks=TICKS, shift=180)
    assert [str(value) for _, _, value in pieces] == ["16th", "dotted eighth"]


def test_shifts_of_a_pick_up_and_of_a_split_measure() -> None:
    """A pick-up lacks its start; so does the second half of a measure that a repeat splits."""
    measures = (
        Measure("0", 4, is_implicit=True, attributes=(Attributes(0, metre=FOUR),)),
        Measure("1", 16),
        Measure("2", 12),
        Measure("X1", 4, is_implicit=True),
    )
    views = timed(Part("P1", "", measures), 4)
    assert [view.shift for view in views] == [12, 0, 0, 12]


def test_without_metre_the_longest_values_come_first() -> None:
    """Senza misura there is no beat to show."""
    assert written("0", "5", Metre((), ())) == ["whole", "quarter"]


def test_refuses_what_cannot_be_written() -> None:
    """No value lasts nothing, and none is shorter than a 1024th."""
    with pytest.raises(UsageError, match="0 ticks cannot be written"):
        spell(0, 0, FOUR, ticks=4)
    with pytest.raises(UsageError, match="no note value"):
        spell(0, 1, FOUR, ticks=1024)
