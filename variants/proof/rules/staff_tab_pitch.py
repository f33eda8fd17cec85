"""Notes of the notation that the tab has at another pitch."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.doubling import doublings


@rule("staff-tab-pitch", Severity.ERROR, "notation and tab have different pitches at one moment")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that differ."""
    for pair in doublings(page):
        for above, below in pair.clashes:
            if below.is_harmonic or above.is_harmonic or below.bend or above.bend:
                continue
            yield at_head(
                above, f"the notation has {above.pitch} and the tab {_tab(below)}",
                expected="the same pitch on both staves",
                severity=None if pair.is_sure else Severity.WARNING,
            )  # fmt: skip


def _tab(head: Head) -> str:
    place = f" (string {head.string} fret {head.fret})" if head.is_placed else ""
    return f"{head.pitch}{place}"
