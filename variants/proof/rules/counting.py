"""Counting syllables against the moments that they count."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from lxml import etree

from variants.proof.finding import Fix, Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.counts import Counted, counted_lines


@rule("counting", Severity.ERROR, "a counting syllable does not fit the beat of its note")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the counts that differ from what the other counts of their line follow."""
    for one in counted_lines(page):
        if one.text != one.expected:
            yield at_head(
                one.head, f"the note is counted {one.text!r}", expected=repr(one.expected),
                fix=Fix(f"count it {one.expected!r}", _writer(one)),
            )  # fmt: skip


def _writer(one: Counted) -> Callable[[], None]:
    def write() -> None:
        texts: list[etree._Element] = one.lyric.findall("text")
        texts[0].text = (texts[0].text or "").replace(one.text, one.expected, 1)

    return write
