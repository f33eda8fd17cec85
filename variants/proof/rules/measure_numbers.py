"""Measure numbers with gaps."""

from __future__ import annotations

import re
from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Bar, Page
from variants.proof.registry import rule

_NUMBER = re.compile(r"(\d{1,9})([a-z]?)\Z")


@rule("measure-numbers", Severity.WARNING, "measure numbers skip or repeat")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the measures whose number does not follow the one before.

    Measures that are not counted, and numbers with letters, may repeat; 1 may begin anew; a
    measure may begin with any number in the first part, as an excerpt does.
    """
    seen: set[tuple[int, str]] = set()
    for part in page.parts:
        before: int | None = None
        for bar in part.bars:
            number = _number(bar)
            if number is None:
                continue
            flawed = before is not None and number != before + 1 and number != 1
            if flawed and (bar.index, bar.number) not in seen:
                seen.add((bar.index, bar.number))
                yield at_bar(
                    bar, f"measure {number} follows measure {before}",
                    expected=f"measure {(before or 0) + 1}",
                )  # fmt: skip
            before = number


def _number(bar: Bar) -> int | None:
    found = _NUMBER.match(bar.number)
    if bar.is_implicit or found is None or found.group(2):
        return None
    return int(found.group(1))
