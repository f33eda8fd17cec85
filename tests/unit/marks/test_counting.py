"""Counting: each figure and what a player says to it."""

from __future__ import annotations

import pytest

from tests.unit.marks.figures import figure, lyrics_of
from variants.marks import apply_marks

# metre, rhythm, syllables by number, te-ta and takadimi; `_` joins what stands under one note.
FIGURES = [
    ("4/4", "q q q q", "1 2 3 4", "1 2 3 4", "ta ta ta ta"),
    ("4/4", "h h", "1_[2] 3_[4]", "1_[2] 3_[4]", "ta_[ta] ta_[ta]"),
    ("4/4", "w", "1_[2_3_4]", "1_[2_3_4]", "ta_[ta_ta_ta]"),
    ("4/4", "h. q", "1_[2_3] 4", "1_[2_3] 4", "ta_[ta_ta] ta"),
    ("4/4", "q rq rh", "1 (2) (3_4)", "1 (2) (3_4)", "ta (ta) (ta_ta)"),
    ("4/4", "rw", "(1_2_3_4)", "(1_2_3_4)", "(ta_ta_ta_ta)"),
    ("2/4", "e e e e", "1 & 2 &", "1 te 2 te", "ta di ta di"),
    ("2/4", "re e re e", "(1) & (2) &", "(1) te (2) te", "(ta) di (ta) di"),
    ("2/4", "e q e", "1 &_[2] &", "1 te_[2] te", "ta di_[ta] di"),
    ("2/4", "q. e", "1_[2] &", "1_[2] te", "ta_[ta] di"),
    ("2/4", "e e~ e e", "1 & [2] &", "1 te [2] te", "ta di [ta] di"),
    ("2/4", "s s s s q", "1 e & a 2", "1 ti te ta 2", "ta ka di mi ta"),
    ("2/4", "e s s s s e", "1 & a 2 e &", "1 te ta 2 ti te", "ta di mi ta ka di"),
    ("2/4", "e. s s e.", "1 a 2 e", "1 ta 2 ti", "ta mi ta ka"),
    ("2/4", "s e s q", "1 e a 2", "1 ti ta 2", "ta ka mi ta"),
    ("2/4", "rs e s q", "(1) e a 2", "(1) ti ta 2", "(ta) ka mi ta"),
    ("2/4", "e3 e3 e3 q", "1 trip let 2", "1 la li 2", "ta ki da ta"),
    ("2/4", "q3 e3 e3 q3", "1 let 2 trip", "1 li 2 la", "ta da ta ki"),
    ("2/4", "q3 q3 q3", "1 let_[2] trip", "1 li_[2] la", "ta da_[ta] ki"),
    ("2/4", "e3 re3 e3 q", "1 (trip) let 2", "1 (la) li 2", "ta (ki) da ta"),
    ("2/4", "s3 s3 s3 s3 s3 s3 q", "1 trip let & trip let 2", "1 ta la ta li ta 2",
     "ta va ki di da ma ta"),
    ("2/4", "e s3 s3 s3 q", "1 & trip let 2", "1 ta li ta 2", "ta di da ma ta"),
    ("1/4", "s5 s5 s5 s5 s5", "1 · · · ·", "1 ta ta ta ta", "ta ka di mi ti"),
    ("1/4", "t t s e", "1 · e &", "1 ta ti te", "ta · ka di"),
    ("3/4", "q e e h~ | h.", "1 2 & 3", "", ""),
    ("6/8", "e e e e e e", "1 & a 2 & a", "1 la li 2 la li", "ta ki da ta ki da"),
    ("6/8", "q e q.", "1 a 2", "1 li 2", "ta da ta"),
    ("6/8", "h.", "1_[2]", "1_[2]", "ta_[ta]"),
    ("6/8", "s s s s s s q.", "1 ta & ta a ta 2", "1 ta la ta li ta 2", "ta va ki di da ma ta"),
    ("6/8", "e. s e q.", "1 ta a 2", "1 ta li 2", "ta di da ta"),
    ("6/8", "e2 e2 q.", "1 & 2", "1 te 2", "ta di ta"),
    ("9/8", "q. q e e e e", "1 2 a 3 & a", "1 2 li 3 la li", "ta ta da ta ki da"),
    ("3/8", "e s s e", "1 2 & 3", "1 2 te 3", "ta ta di ta"),
    ("2/2", "q q q q", "1 & 2 &", "1 te 2 te", "ta di ta di"),
    ("2/2", "h e e e e", "1 2 e & a", "1 2 ti te ta", "ta ta ka di mi"),
    ("5/8", "e e e e e", "1 & a 2 &", "1 la li 2 te", "ta ki da ta di"),
    ("2+3/8", "e e e e e", "1 & 2 & a", "1 te 2 la li", "ta di ta ki da"),
    ("7/8", "q q e e e", "1 2 3 & a", "1 2 3 la li", "ta ta ta ki da"),
    ("6/4", "q q q q q q", "1 2 3 4 5 6", "1 2 3 4 5 6", "ta ta ta ta ta ta"),
]  # fmt: skip
CASES = [
    pytest.param(metre, rhythm, system, text, id=f"{metre} {rhythm} {system}")
    for metre, rhythm, *texts in FIGURES
    for system, text in zip(("numbers", "te-ta", "takadimi"), texts, strict=True)
    if text and "|" not in rhythm
]


@pytest.mark.parametrize(("metre", "rhythm", "system", "text"), CASES)
def test_figure(metre: str, rhythm: str, system: str, text: str) -> None:
    """Every note of a figure has the syllable of its system."""
    marked = apply_marks(figure(metre, rhythm), {}, f"counting={system}")
    assert lyrics_of(marked, "counting") == [text]


@pytest.mark.parametrize(
    ("metre", "rhythm", "text"),
    [
        ("6/8", "e e e e e e", "1 2 3 4 5 6"),
        ("6/8", "q e q.", "1_[2] 3 4_[5_6]"),
        ("6/8", "s s s s e q.", "1 & 2 & 3 4_[5_6]"),
        ("5/8", "q. e re", "1_[2_3] 4 (5)"),
        ("12/8", "h. h.", "1_[2_3_4_5_6] 7_[8_9_10_11_12]"),
        ("4/4", "e e q h", "1 & 2 3_[4]"),
    ],
)
def test_every_eighth_counted(metre: str, rhythm: str, text: str) -> None:
    """6/8 can be counted from 1 to 6; 4/4 is as it was."""
    marked = apply_marks(figure(metre, rhythm), {}, "counting=eighths")
    assert lyrics_of(marked, "counting") == [text]


@pytest.mark.parametrize(
    ("metre", "rhythm", "texts"),
    [
        ("4/4", "e | w", ["&", "1_[2_3_4]"]),
        ("4/4", "q | w", ["4", "1_[2_3_4]"]),
        ("4/4", "e q | w", ["& 4", "1_[2_3_4]"]),
        ("3/4", "e e | h.", ["3 &", "1_[2_3]"]),
        ("3/4", "e. s | h.", ["3 a", "1_[2_3]"]),
        ("6/8", "e | h.", ["a", "1_[2]"]),
        ("6/8", "s s | h.", ["a ta", "1_[2]"]),
        ("4/4", "q3 e3 | w", ["4 let", "1_[2_3_4]"]),
    ],
)
def test_pick_up(metre: str, rhythm: str, texts: list[str]) -> None:
    """The missing time of a pick-up is at its start."""
    marked = apply_marks(figure(metre, rhythm), {}, "counting")
    assert lyrics_of(marked, "counting") == texts


def test_tie_over_the_barline() -> None:
    """A note that is held into a measure has its beats in brackets there."""
    marked = apply_marks(figure("3/4", "q e e q~ | h q"), {}, "counting")
    assert lyrics_of(marked, "counting") == ["1 2 & 3", "[1_2] 3"]


def test_two_voices_are_counted_together() -> None:
    """Melody and bass give one line; the first voice that strikes carries it."""
    marked = apply_marks(figure("3/4", "h e e", "q:E2 q:B2 q:E2"), {}, "counting")
    assert lyrics_of(marked, "counting") == ["1 3 & - 2 -"]


def test_rest_of_one_voice_under_a_held_note_is_no_moment() -> None:
    """A held note is counted through where the other voice rests."""
    marked = apply_marks(figure("2/4", "h", "q:E2 rq"), {}, "counting")
    assert lyrics_of(marked, "counting") == ["1_[2] - -"]


def test_triplets_against_eighths() -> None:
    """Two against three: each voice keeps its syllables."""
    marked = apply_marks(figure("1/4", "e3 e3 e3", "e:E2 e:E2"), {}, "counting")
    assert lyrics_of(marked, "counting") == ["1 trip let - &"]


def test_held_and_silent_beats_can_be_left_out() -> None:
    """Brackets and parentheses go when they are not wanted."""
    marked = apply_marks(figure("4/4", "h rq q"), {}, "counting=no-held+no-rests")
    assert lyrics_of(marked, "counting") == ["1 - 4"]


def test_second_half_of_a_split_measure_counts_on() -> None:
    """A measure that a repeat splits is counted as one."""
    from dataclasses import replace

    score = figure("4/4", "w | q q q | q | w")
    part = score.parts[0]
    split = replace(part.measures[2], is_implicit=True, number="X1")
    measures = (*part.measures[:2], split, part.measures[3])
    marked = apply_marks(replace(score, parts=(replace(part, measures=measures),)), {}, "counting")
    assert lyrics_of(marked, "counting")[1:3] == ["1 2 3", "4"]


def test_measure_without_events() -> None:
    """A measure in which nothing is written is passed over."""
    from dataclasses import replace

    score = figure("2/4", "q q | h")
    part = score.parts[0]
    empty = replace(part.measures[0], voices=())
    score = replace(score, parts=(replace(part, measures=(empty, part.measures[1])),))
    marked = apply_marks(score, {}, "counting,names,chords,strokes,plucking,strings")
    assert lyrics_of(marked, "counting") == ["", "1_[2]"]
