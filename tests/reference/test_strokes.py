"""Strokes, plucking fingers and positions against what teachers publish."""

from __future__ import annotations

import pytest

from tests.unit.marks.figures import figure
from tests.unit.marks.test_plucking import plucks
from tests.unit.marks.test_strokes import strokes_in
from variants.marks import apply_marks

PUBLISHED = [
    # shedthemusic.net, ff2/12: down on the number, up on the "&"; the hand keeps moving through
    # ties and rests, so a struck "&" is an up stroke whatever came before.
    ("metre", "4/4", "e e e e q q", "DUDUDD"),
    ("metre", "4/4", "q re e re e q", "D-U-UD"),
    ("metre", "4/4", "q e e~ e e q", "DDU-UD"),
    # Common practice: sixteenths 1 down, e up, & down, a up.
    ("metre", "1/4", "s s s s", "DUDU"),
    ("metre", "1/4", "e. s", "DU"),
    ("metre", "1/4", "s e.", "DU"),
    # Common practice: a jig is picked down up down, down up down ...
    ("metre", "6/8", "e e e e e e", "DUDDUD"),
    # ... or strictly in turn (douglasbellmusic.com: alternation ignores string crossings).
    ("alternate", "6/8", "e:E4 e:B3 e:G3 e:D3 e:A2 e:E2", "DUDUDU"),
]


@pytest.mark.parametrize(("way", "metre", "rhythm", "expected"), PUBLISHED)
def test_published_strokes(way: str, metre: str, rhythm: str, expected: str) -> None:
    """Sources: see the table."""
    assert strokes_in(apply_marks(figure(metre, rhythm), {}, f"strokes={way}")) == expected


@pytest.mark.parametrize(
    ("rhythm", "expected"),
    [
        # guitardownunder.com and classicalguitarshed.com: p takes strings 6 5 4, i 3, m 2, a 1.
        ("e:E2@6.0 e:G3@3.0 e:B3@2.0 e:E4@1.0 e:A2@5.0 e:G3@3.0 e:B3@2.0 e:E4@1.0",
         "p i m a p i m a"),
        ("e:D3@4.0 e:G3@3.0 e:B3@2.0 e:E4@1.0 h:D3@4.0+G3@3.0+B3@2.0+E4@1.0", "p i m a pima"),
        # Common practice: a line alternates i and m, also on one repeated note.
        ("e:E4@1.0 e:E4@1.0 e:E4@1.0 e:E4@1.0 h:F4@1.1", "i m i m i"),
    ],
)  # fmt: skip
def test_published_plucking(rhythm: str, expected: str) -> None:
    """Sources: see the table."""
    assert plucks(apply_marks(figure("4/4", rhythm), {}, "plucking")) == expected
