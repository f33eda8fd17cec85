"""The slips that scanning noted, as flaws of one rule."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw
from variants.proof.page import Page


def slips_of(page: Page, rule: str) -> Iterator[Flaw]:
    """Yield what scanning noted under a rule id."""
    for slip in page.slips:
        if slip.rule == rule:
            yield Flaw(slip.message, slip.expected, element=slip.element)
    for bar in page.bars():
        if bar.slips:
            for slip in bar.slips:
                if slip.rule == rule:
                    yield Flaw(
                        slip.message, slip.expected, bar.part, bar, slip.onset,
                        element=slip.element,
                    )  # fmt: skip
