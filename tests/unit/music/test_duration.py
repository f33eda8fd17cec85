"""Note values."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from variants.music import NoteValue, single_value
from variants.music.duration import QUARTERS_OF_TYPE


@pytest.mark.parametrize(
    ("value", "quarters", "text"),
    [
        (NoteValue("quarter"), Fraction(1), "quarter"),
        (NoteValue("half", 1), Fraction(3), "dotted half"),
        (NoteValue("half", 2), Fraction(7, 2), "double-dotted half"),
        (NoteValue("half", 3), Fraction(15, 4), "3-dotted half"),
        (NoteValue("eighth", 0, 3, 2), Fraction(1, 3), "eighth (3:2)"),
        (NoteValue("quarter", 1, 3, 2), Fraction(1), "dotted quarter (3:2)"),
        (NoteValue("16th", 0, 5, 4), Fraction(1, 5), "16th (5:4)"),
        (NoteValue(), None, "unnamed"),
    ],
)
def test_length_and_name(value: NoteValue, quarters: Fraction | None, text: str) -> None:
    """A dot adds half, a second dot a quarter; a tuplet scales (common practice)."""
    assert value.quarters == quarters
    assert str(value) == text
    assert value.is_tuplet == ("(" in text)


def test_each_type_is_half_of_the_one_before() -> None:
    """From the maxima down every value halves (common practice)."""
    lengths = list(QUARTERS_OF_TYPE.values())
    assert all(long == 2 * short for long, short in pairwise(lengths))
    assert QUARTERS_OF_TYPE["quarter"] == 1


def test_single_value() -> None:
    """One value where one will do, none where it takes a tie."""
    for name, length in QUARTERS_OF_TYPE.items():
        assert single_value(length) == NoteValue(name)
        assert single_value(length * 3 / 2) == NoteValue(name, 1)
    assert single_value(Fraction(7, 4)) is None
    assert single_value(Fraction(7, 4), most_dots=2) == NoteValue("quarter", 2)
    assert single_value(Fraction(5, 4)) is None
    assert single_value(Fraction(1, 3)) is None
