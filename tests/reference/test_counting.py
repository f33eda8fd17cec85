"""Counting syllables against what teachers publish."""

from __future__ import annotations

import pytest

from tests.unit.marks.figures import figure, lyrics_of
from variants.marks import apply_marks

# (source, system and choices, metre, rhythm, syllables)
PUBLISHED = [
    # nathanmuehl.com, band book exercises 21 and 22: "1 &", "1 e & a".
    ("numbers", "4/4", "e e e e e e e e", "1 & 2 & 3 & 4 &"),
    ("numbers", "4/4", "s s s s s s s s h", "1 e & a 2 e & a 3"),
    # The same: takadimi "ta di", "ta ka di mi".
    ("takadimi", "2/4", "e e s s s s", "ta di ta ka di mi"),
    # Feezell, oneminutemusiclesson.com, the Eastman syllables: "1 te"; "1 ti te ta"; "1 la li".
    ("te-ta", "2/4", "e e e e", "1 te 2 te"),
    ("te-ta", "2/4", "s s s s q", "1 ti te ta 2"),
    ("te-ta", "2/4", "e3 e3 e3 q", "1 la li 2"),
    ("te-ta", "6/8", "e e e q.", "1 la li 2"),
    # The same: sixteenths of 6/8 are "1 ta la ta li ta".
    ("te-ta", "6/8", "s s s s s s q.", "1 ta la ta li ta 2"),
    # cruiseshipdrummer.com: "1 trip let"; "1 & a" for a compound beat; 6/8 from 1 to 6 or in two.
    ("numbers", "2/4", "e3 e3 e3 q", "1 trip let 2"),
    ("numbers+beats", "6/8", "e e e e e e", "1 & a 2 & a"),
    ("numbers+eighths", "6/8", "e e e e e e", "1 2 3 4 5 6"),
]


@pytest.mark.parametrize(("system", "metre", "rhythm", "syllables"), PUBLISHED)
def test_published_syllables(system: str, metre: str, rhythm: str, syllables: str) -> None:
    """Sources: see the table. Held beats are left out, since the examples do not write them."""
    marked = apply_marks(figure(metre, rhythm), {}, f"counting={system}+no-held")
    assert lyrics_of(marked, "counting") == [syllables]


def test_published_pick_up() -> None:
    """A single eighth before 4/4 is the "&" of 4. Source: nathanmuehl.com, ob1.21-22."""
    marked = apply_marks(figure("4/4", "e | q q q q"), {}, "counting")
    assert lyrics_of(marked, "counting") == ["&", "1 2 3 4"]


@pytest.mark.parametrize(
    ("rhythm", "syllables"),
    [
        ("h. rq", "1_[2_3] (4)"),
        ("w", "1_[2_3_4]"),
        ("rh h", "(1_2) 3_[4]"),
        ("q. e h", "1_[2] & 3_[4]"),
    ],
)
def test_held_and_silent_beats(rhythm: str, syllables: str) -> None:
    """Held beats in brackets, rests counted silently, in parentheses. Source: common practice."""
    marked = apply_marks(figure("4/4", rhythm), {}, "counting")
    assert lyrics_of(marked, "counting") == [syllables]


@pytest.mark.parametrize(
    ("rhythm", "syllables"),
    [
        # From memory, after the articles that introduced takadimi (Hoffman, Pelto and White, 1996).
        ("e e e e e e", "ta ki da ta ki da"),
        ("s s s s s s q.", "ta va ki di da ma ta"),
        ("e2 e2 q.", "ta di ta"),
    ],
)
def test_takadimi_in_compound_metre(rhythm: str, syllables: str) -> None:
    """Takadimi of a compound beat. Source: from memory."""
    marked = apply_marks(figure("6/8", rhythm), {}, "counting=takadimi")
    assert lyrics_of(marked, "counting") == [syllables]
