"""Endings without their other end, or out of order."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Bar, Page, PagePart
from variants.proof.registry import rule
from variants.proof.views.repeats import Ending, endings


@rule("ending-open", Severity.ERROR, "an ending has no other end, or its number is out of order")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the endings that are not closed, not opened, or not numbered in turn."""
    seen: set[tuple[int, str]] = set()
    for part in page.parts:
        for bar, message in _of_part(part):
            if (bar.index, message) not in seen:
                seen.add((bar.index, message))
                yield at_bar(bar, message, expected="endings 1, 2, ... with both their ends")


def _of_part(part: PagePart) -> Iterator[tuple[Bar, str]]:
    opened: Ending | None = None
    last = 0
    for ending in endings(part):
        if ending.kind == "start":
            if opened is not None:
                yield opened.bar, f"ending {opened.number} is not closed"
            opened = ending
            first = min(ending.numbers, default=0)
            if first > 1 and last != first - 1 and (last == 0 or last >= first):
                yield ending.bar, f"ending {ending.number} follows no ending {first - 1}"
            last = max(ending.numbers, default=0)
        elif opened is None:
            yield ending.bar, f"ending {ending.number} is closed and was not opened"
        else:
            if opened.number != ending.number:
                closed = f"as {ending.number}" if ending.number else "without its number"
                yield ending.bar, f"ending {opened.number} is closed {closed}"
            opened = None
    if opened is not None:
        yield opened.bar, f"ending {opened.number} is not closed"
