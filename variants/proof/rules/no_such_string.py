"""Strings that the instrument does not have."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.strings import instrument_of


@rule("no-such-string", Severity.ERROR, "a string that the instrument does not have")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes on strings that do not exist."""
    for part in page.parts:
        for head in part.heads:
            if not head.string:
                continue
            if head.string < 0:
                yield at_head(head, f"there is no string {head.string + 1000}",
                              expected="string 1 or more")  # fmt: skip
                continue
            instrument = instrument_of(head)
            if instrument is not None and head.string > instrument.strings:
                yield at_head(
                    head,
                    f"there is no string {head.string}"
                    + (" on the six strings that are assumed" if instrument.assumed else ""),
                    expected=f"string 1 to {instrument.strings}",
                    severity=Severity.WARNING if instrument.assumed else None,
                )
