"""Counts under rests and plucking fingers of two voices, as they stand on the sheet."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from tests.unit.marks.figures import figure
from variants.marks import apply_marks
from variants.score import Score
from variants.sheets.engrave import engrave
from variants.sheets.lettering import Letter


def letters(score: Score, kind: str) -> list[Letter]:
    """Return the letters of a kind on the first line of a sheet, from left to right."""
    part = replace(score.parts[0], layout="notation")
    system = engrave(replace(score, parts=(part,))).systems[0]
    return sorted((one for one in system.letters if one.kind == kind), key=lambda one: one.box[0])


def test_rests_are_counted_on_the_line_of_the_notes() -> None:
    """A syllable in parentheses stands under each rest, at the height of the others."""
    found = letters(apply_marks(figure("4/4", "q re e q rq"), {}, "counting"), "lyric")
    assert [one.text for one in found] == ["1", "(2)", "&", "3", "(4)"]
    assert len({one.box[3] for one in found}) == 1
    assert all(a.box[2] < b.box[0] for a, b in pairwise(found))


def test_a_line_of_rests_alone_is_counted_below_the_staff() -> None:
    """Where no note shows the line, the syllables stand under the staff."""
    found = letters(apply_marks(figure("2/4", "rh"), {}, "counting"), "lyric")
    assert [one.text for one in found] == ["(1\u20092)"]


def test_two_voices_have_their_fingers_on_their_side() -> None:
    """The upper voice's plucking fingers stand above, the thumb below."""
    score = figure("2/4", "q:E4@1.0 q:F4@1.1", "h:C3@5.3")
    found = letters(apply_marks(score, {}, "plucking"), "pluck")
    height = {one.text: one.box[1] for one in found}
    assert height["a"] < height["p"]
    assert height["m"] < height["p"]


def test_circled_strings_are_printed_where_they_are_marked() -> None:
    """A string that the mark names is on the sheet, also over tab; places alone are not."""
    score = figure("4/4", "q:B3@3.4 q:C4@3.5 h:E4@1.0")
    marked = apply_marks(score, {}, "strings")
    for layout in ("notation", "both"):
        parts = [replace(one.parts[0], layout=layout) for one in (marked, score)]
        shown = [
            [x.text for x in engrave(replace(score, parts=(part,))).systems[0].letters
             if x.text in "①②③④⑤⑥"]
            for part in parts
        ]  # fmt: skip
        assert shown == [["③"], []]
