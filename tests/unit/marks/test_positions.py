"""Positions and barres: a numeral at a shift and nowhere else."""

from __future__ import annotations

import pytest

from tests.unit.marks.figures import TICKS, figure
from variants.fingering import Barre, HandAt
from variants.fingering.score import HandPlace
from variants.marks import apply_marks
from variants.marks.positions import BARRE


def hands(text: str) -> list[HandPlace]:
    """Return hands from positions, one a quarter: ``5``, ``o`` open, ``3b6`` with a barre."""
    found, position = [], 1
    for index, token in enumerate(text.split()):
        number, _, width = token.partition("b")
        position = position if number == "o" else int(number)
        barre = Barre(position, int(width), 1, 1) if width else None
        hand = HandAt(
            onset=index * TICKS, notes=(index,), position=position, barre=barre, stretch_mm=0.0,
            travel_mm=0.0, seconds=0.0, open_strings=int(number == "o"), let_go=(),
            grip_cost=0.0, context_cost=0.0, move_cost=0.0,
        )  # fmt: skip
        found.append(HandPlace(index // 4, index % 4 * TICKS, hand))
    return found


def marks(text: str) -> str:
    """Return the words at each quarter, ``-`` for none."""
    places = hands(text)
    bars = (len(places) + 3) // 4
    score = figure("4/4", " | ".join(["q q q q"] * bars))
    marked = apply_marks(score, {0: places}, "positions")
    words = {
        (index, one.onset): one.words
        for index, measure in enumerate(marked.parts[0].measures)
        for one in measure.directions
        if one.words
    }
    return " ".join(words.get((one.measure, one.tick), "-") for one in places)


@pytest.mark.parametrize(
    ("positions", "expected"),
    [
        ("1 1 1 1", "- - - -"),
        ("5 5 5 5", "V - - -"),
        ("1 5 5 1", "- V - I"),
        ("5 o o 5", "V - - -"),
        ("o o 3 3", "- - III -"),
        # A lean by a fret is no shift, standing there is.
        ("5 4 5 5", "V - - -"),
        ("5 4 4 5", "V - - -"),
        ("5 4 4 4", "V IV - -"),
        ("5 4 4 4 7", "V IV - - VII"),
        # One that comes back is a stretch of the first finger; one that stays away is a shift.
        ("5 4 4 4 4 5 5 4 4 4 5", "V - - - - - - - - - -"),
        ("5 4 4 4 4 4 4 4 4 5", "V IV - - - - - - - -"),
        # A reach by two frets and back is none, going on is.
        ("5 7 5 5", "V - - -"),
        ("5 7 9 9", "V VII IX -"),
        ("5 7 7 5", "V VII - V"),
        # A jump is always one.
        ("1 7 1 1", "- VII I -"),
        # A barre says the position.
        ("1 3b6 3b6 3", "- BIII - -"),
        ("1 3b4 1 1", "- ½BIII I -"),
        ("1 1b2 1 1", "- - - -"),
        # The barre is held while an open string sounds.
        ("3b6 o 3b6 1", "BIII - - I"),
        ("3b6 3b6 5b6 5b6", "BIII - BV -"),
        # A broken chord under a barre sounds on two strings here and on six there.
        ("1 3b4 3b2 3b6", "- BIII - -"),
        ("1 3b2 3b4 3b2", "- ½BIII - -"),
        ("1 3b2 3b2 3", "- III - -"),
    ],
)
def test_numerals(positions: str, expected: str) -> None:
    """Only real shifts and barres are named."""
    assert marks(positions) == expected


def test_barre_bracket_spans_the_barre() -> None:
    """A dashed bracket lasts from the first to the last onset of a barre."""
    score = figure("4/4", "q q q q")
    marked = apply_marks(score, {0: hands("1 3b6 3b6 3b6")}, "positions")
    directions = marked.parts[0].measures[0].directions
    brackets = [(one.onset, one.xml) for one in directions if "<bracket" in one.xml]
    assert [onset // TICKS for onset, _ in brackets] == [1, 3]
    assert 'type="start"' in brackets[0][1]
    assert 'line-type="dashed"' in brackets[0][1]
    assert 'type="stop"' in brackets[1][1]
    assert all(one.origin == BARRE for one in directions)
    assert apply_marks(marked, {}, "none") == score
