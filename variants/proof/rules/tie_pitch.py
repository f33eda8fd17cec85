"""Ties between two pitches."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.ties import tie_report


@rule("tie-pitch", Severity.ERROR, "a tie joins two pitches")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes at which a tie ends on another pitch than it began."""
    for part in page.parts:
        for start, stop in tie_report(page, part).changed:
            yield at_head(
                stop, f"the tie from {start.pitch} ends on {stop.pitch}",
                expected=f"{start.pitch}, or a slur",
            )  # fmt: skip
