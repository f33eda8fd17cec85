"""Metre: beats, groups, strength."""

from __future__ import annotations

from fractions import Fraction

import pytest

from variants.music import Metre

HALF, THREE_HALVES = Fraction(1, 2), Fraction(3, 2)


@pytest.mark.parametrize(
    ("metre", "quarters", "lengths", "compound"),
    [
        (Metre(), 4, [1, 1, 1, 1], False),
        (Metre(("3",), (4,)), 3, [1, 1, 1], False),
        (Metre(("2",), (2,)), 4, [2, 2], False),
        (Metre(("6",), (8,)), 3, [THREE_HALVES] * 2, True),
        (Metre(("12",), (8,)), 6, [THREE_HALVES] * 4, True),
        (Metre(("3",), (8,)), THREE_HALVES, [HALF] * 3, False),
        (Metre(("6",), (4,)), 6, [1] * 6, False),
        (Metre(("3+2",), (8,)), Fraction(5, 2), [THREE_HALVES, 1], False),
        (Metre(("2", "3"), (4, 8)), Fraction(7, 2), [1, 1, THREE_HALVES], False),
        (Metre((), ()), 0, [], False),
    ],
)
def test_beats(metre: Metre, quarters: int, lengths: list[Fraction], compound: bool) -> None:
    """What a player counts: compound beats in three (common practice)."""
    assert metre.quarters == quarters
    assert list(metre.beat_lengths) == lengths
    assert metre.is_compound is compound


def test_beat_numbers() -> None:
    """Beats count from one and go on past the end."""
    assert [Metre().beat_at(Fraction(n, 2)) for n in range(4)] == [
        1,
        THREE_HALVES,
        2,
        Fraction(5, 2),
    ]
    six = Metre(("6",), (8,))
    assert six.beat_at(Fraction(2)) == Fraction(7, 3)
    assert six.beat_at(Fraction(9, 2)) == 4
    assert Metre((), ()).beat_at(Fraction(3)) == 4


def test_strength() -> None:
    """Downbeat, middle, beats, then halves of beats; thirds where the beat is compound."""
    four = [Metre().strength(Fraction(n, 2)) for n in range(8)]
    assert four == [0, 3, 2, 3, 1, 3, 2, 3]
    assert Metre().strength(Fraction(1, 4)) == 4
    three = [Metre(("3",), (4,)).strength(Fraction(n)) for n in range(3)]
    assert three == [0, 2, 2]
    six = [Metre(("6",), (8,)).strength(Fraction(n, 2)) for n in range(6)]
    assert six == [0, 3, 3, 2, 3, 3]


def test_words() -> None:
    """Printed as it is read."""
    assert str(Metre(("2", "3"), (4, 8))) == "2/4 + 3/8"
    assert str(Metre((), ())) == "senza misura"
    assert not Metre((), ()).is_measured
