"""Parts of different numbers of measures."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar, at_part
from variants.proof.page import Page
from variants.proof.registry import rule


@rule("measure-count", Severity.ERROR, "the parts have different numbers of measures")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the parts that are shorter than the longest."""
    if not page.parts:
        return
    longest = max(page.parts, key=lambda part: len(part.bars))
    for part in page.parts:
        missing = len(longest.bars) - len(part.bars)
        if missing:
            message = (
                f"the part has {len(part.bars)} measures, part {longest.id} has {missing} more"
            )
            expected = f"{len(longest.bars)} measures"
            if part.bars:
                yield at_bar(part.bars[-1], message, expected=expected)
            else:
                yield at_part(part, message, expected=expected)
