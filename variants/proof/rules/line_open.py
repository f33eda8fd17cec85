"""Wedges, dashes, brackets and octave lines without their other end."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.direction_spans import FAMILIES, direction_ends
from variants.proof.views.spans import matched


@rule("line-open", Severity.WARNING, "a wedge, bracket or other line has no other end")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the lines that hang loose."""
    for part in page.parts:
        for family in FAMILIES:
            _, loose = matched(direction_ends(page, part, family))
            for end in loose:
                yield at_bar(
                    end.bar,
                    f"the {family} that begins here ends nowhere"
                    if end.is_start
                    else f"the {family} that ends here begins nowhere",
                    onset=end.onset, expected=f"both ends of the {family}", element=end.element,
                )  # fmt: skip
