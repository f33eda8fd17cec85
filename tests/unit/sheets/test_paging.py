"""The choice of pages and lines: laws over random sections, and the least badness by trying all."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.strategies import line
from variants.score import Barline
from variants.sheets.breaks import system_starts
from variants.sheets.cuts import glued_measures, phrase_measures
from variants.sheets.paging import AFTER_HEAD, BEFORE_ROW, BETWEEN_LINES, Section, choose_pages

FULL = 260.0
_heights = st.floats(15.0, 60.0)


@st.composite
def sections(draw: st.DrawFn) -> Section:
    """Draw a section like those of real sheets."""
    lines = draw(st.lists(_heights, min_size=1, max_size=12))
    rows = draw(st.lists(_heights, max_size=2))
    return Section(
        head=draw(st.floats(20.0, 45.0)),
        short=draw(st.floats(8.0, 30.0)),
        lines=tuple(lines),
        turns=tuple(draw(st.booleans()) for _ in lines),
        rows=tuple(rows),
        unsigned=tuple(rows[:1]) if draw(st.booleans()) else None,
        is_apart=draw(st.booleans()),
    )


def _least(section: Section) -> float:
    rows = section.rows if section.unsigned is None else section.unsigned
    return (
        section.head
        + AFTER_HEAD.least
        + sum(section.lines)
        + BETWEEN_LINES.least * (len(section.lines) - 1)
        + sum(row + BEFORE_ROW.least for row in rows)
    )


@given(st.lists(sections(), min_size=1, max_size=5))
def test_pages_hold_everything_once(drawn: list[Section]) -> None:
    """Each line stands on one page, in order; no page is too full, none is without music."""
    pages = choose_pages(drawn, FULL).pages
    lines = [(one.section, one.index) for page in pages for one in page if one.what == "line"]
    assert lines == [(at, i) for at, one in enumerate(drawn) for i in range(len(one.lines))]
    for page in pages:
        assert page[0].gap == 0
        assert any(piece.what == "line" for piece in page)
        high = 0.0
        for piece in page:
            own = drawn[piece.section]
            heights = {
                "head": (own.head,),
                "short": (own.short,),
                "line": own.lines,
                "row": own.rows,
                "unsigned": own.unsigned or (),
            }[piece.what]
            high += piece.gap + heights[piece.index]
        assert high <= FULL


@given(st.lists(sections(), min_size=1, max_size=5))
def test_what_fits_a_page_is_on_one_page(drawn: list[Section]) -> None:
    """A section that a page holds is never cut; one that begins a page does."""
    pages = choose_pages(drawn, FULL).pages
    for at, one in enumerate(drawn):
        where = {n for n, page in enumerate(pages) for piece in page if piece.section == at}
        if _least(one) <= FULL - 1:
            assert len(where) == 1
        if one.is_apart:
            assert pages[min(where)][0].section == at


def test_pages_turn_where_a_hand_is_free() -> None:
    """Of two ends that cost like much paper, the one at a rest is taken."""
    free = (False, False, True, False, False, False)
    section = Section(head=30.0, short=10.0, lines=(55.0,) * 6, turns=free)
    first, _ = choose_pages([section], FULL).pages
    assert sum(piece.what == "line" for piece in first) == 3


def test_signs_are_left_out_to_save_a_page() -> None:
    """Where all signs were explained before, they go before a page is added."""
    one = Section(
        head=30.0, short=12.0, lines=(40.0,) * 3, turns=(True,) * 3, rows=(70.0,), unsigned=(40.0,)
    )
    (page,) = choose_pages([one], 220.0).pages
    assert page[-1].what == "unsigned"
    (page,) = choose_pages([one], 260.0).pages
    assert page[-1].what == "row"


# -- lines ----------------------------------------------------------------------------------------


@given(st.integers(2, 24), st.integers(3, 5))
def test_no_widow(count: int, most: int) -> None:
    """No single measure is alone on the last line, where measures are alike."""
    starts = system_starts([10.0] * count, head=5.0, line=60.0, most=most)
    assert len(starts) == 1 or count - starts[-1] > 1


@given(st.lists(st.floats(8.0, 20.0), min_size=1, max_size=9), st.sets(st.integers(1, 8)))
def test_glued_measures_stay(widths: list[float], glued: set[int]) -> None:
    """No line begins with a glued measure if there is a way without it."""
    count = len(widths)
    starts = system_starts(widths, head=5.0, line=65.0, most=4, glued=glued)
    free = [one for one in range(1, count) if one not in glued]

    def fits(cuts: tuple[int, ...]) -> bool:
        ends = (*cuts, count)
        return all(
            end - start <= 4 and sum(widths[start:end]) + 5 <= 65.0
            for start, end in zip((0, *cuts), ends, strict=True)
        )

    if any(fits(cuts) for n in range(len(free) + 1) for cuts in combinations(free, n)):
        assert not glued & set(starts[1:])


@pytest.mark.parametrize(("phrases", "starts"), [((0, 3, 6), [0, 3, 6]), ((), [0, 4])])
def test_lines_end_with_phrases(phrases: tuple[int, ...], starts: list[int]) -> None:
    """Nine measures in phrases of three take lines of three; eight without any, lines of four."""
    count = 9 if phrases else 8
    widths = [10.0] * count
    assert system_starts(widths, head=5.0, line=60.0, most=4, phrases=phrases) == starts


def test_glued() -> None:
    """The second measure of an ending, and what follows a pick-up."""
    part = line(*["C4:w"] * 5).parts[0]
    first = Barline("left", 0, ending=("1", "start", ""))
    last = Barline("right", 0, ending=("1", "stop", ""))
    measures = list(part.measures)
    measures[0] = replace(measures[0], is_implicit=True)
    measures[2] = replace(measures[2], barlines=(first,))
    measures[3] = replace(measures[3], barlines=(last,))
    assert glued_measures(replace(part, measures=tuple(measures))) == {1, 3}


def test_phrases_of_a_tune() -> None:
    """Two phrases of four measures that end long begin their lines; silence has no phrases."""
    tune = line(*["E4 D4 C4 D4", "E4 E4 E4:h", "D4 D4 E4 D4", "C4:w"] * 2)
    assert 4 in phrase_measures(tune)
    assert phrase_measures(line("r:w")) <= {0}
