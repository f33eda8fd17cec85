"""The tunes of an ABC file: told apart, chosen, and what is not read of them is said."""

from __future__ import annotations

from fractions import Fraction

import pytest

from variants.convert.abc import chosen, dropped, tunes_of
from variants.convert.bounds import abc_lengths
from variants.errors import InputError

TWO = "M:4/4\nL:1/8\n\nX:1\nT:One\nK:C\nCDEF|\n\nX:4\nT:Four\nK:G\nGABc|\n"


def test_fields_of_the_head_hold_for_each_tune() -> None:
    """What stands before the first tune is part of each (ABC standard 2.1, file header)."""
    assert [tune.number for tune in tunes_of(TWO)] == [1, 4]
    assert all("M:4/4\nL:1/8\n" in tune.text for tune in tunes_of(TWO))


def test_a_tune_ends_with_an_empty_line() -> None:
    """What follows it is no music, and the log says that it was not read."""
    tune = tunes_of("X:1\nT:One\nK:C\nCDEF|\n\nSome words about it.\n")[0]
    assert "words" not in tune.text
    assert any("empty line" in line for line in dropped(tune))


def test_comments_after_a_tune_are_nothing() -> None:
    """A comment after the empty line is no loss."""
    assert dropped(tunes_of("X:1\nT:One\nK:C\nCDEF|\n\n% end\n")[0]) == []


def test_line_ends_of_every_system() -> None:
    """Old line ends part the lines too."""
    assert [t.title for t in tunes_of(TWO.replace("\n", "\r\n"))] == ["One", "Four"]
    assert [t.title for t in tunes_of(TWO.replace("\n", "\r"))] == ["One", "Four"]


def test_chosen_by_its_number() -> None:
    """The number is that of the field X:, not the place in the file."""
    assert chosen(tunes_of(TWO), "4", name="a.abc").title == "Four"


@pytest.mark.parametrize(
    ("text", "number", "said"),
    [
        (TWO, "", "holds 2 tunes (1 One, 4 Four); name one by its number: a.abc#1"),
        (TWO, "2", "has no tune '2'; it has 1 One, 4 Four; name one by its number: a.abc#1"),
        (TWO.replace("X:4", "X:1"), "1", "has 2 tunes of the number 1; give each its own"),
        ("no music", "", "there is no tune in it; a tune begins with X:"),
    ],
)
def test_no_choice(text: str, number: str, said: str) -> None:
    """The line says which tunes there are and how to name one."""
    with pytest.raises(InputError) as caught:
        chosen(tunes_of(text), number, name="a.abc")
    assert said in str(caught.value)


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("CDEF|\nw:one two three four\n", "1 line of words"),
        ("!fermata!C !trill!D|", "2 decorations"),
        ("~C ~D E|", "2 rolls"),
        ("TC DEF|", "1 sign before a note"),
        ('"^slowly"CDEF|', "1 annotation"),
    ],
)
def test_what_is_not_read_is_said(body: str, said: str) -> None:
    """Signs that music21 does not take over are counted in the log."""
    lines = dropped(tunes_of(f"X:1\nT:One\nK:C\n{body}\n")[0])
    assert len(lines) == 1
    assert lines[0].startswith(said)


def test_chord_symbols_are_read() -> None:
    """A chord symbol in quotes is no annotation."""
    assert dropped(tunes_of('X:1\nT:One\nK:C\n"Am"CDEF|\n')[0]) == []


def test_a_note_without_a_unit_is_an_eighth() -> None:
    """The ABC standard 2.1, 3.1.7: without L: the unit is an eighth in common time."""
    assert [quarters for _, quarters in abc_lengths("K:C\nA A2")] == [Fraction(1, 2), 1]
