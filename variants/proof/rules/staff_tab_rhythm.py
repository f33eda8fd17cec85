"""Moments at which only one of notation and tab has a note."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.doubling import Doubling, doublings

# A tab that leaves out more of its notation is a simplified one.
MOST_MISSING = 0.2


@rule("staff-tab-rhythm", Severity.ERROR, "notation and tab have different rhythms")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that one of the two lacks, and those of different length."""
    for pair in doublings(page):
        missing = len(pair.only_notation) + len(pair.only_tab)
        loose = missing > MOST_MISSING * max(len(pair.pairs) + missing, 5)
        severity = Severity.WARNING if loose or not pair.is_sure else None
        yield from _lacking(pair.only_notation, "the tab lacks", severity)
        yield from _lacking(pair.only_tab, "the notation lacks", severity)
        yield from _lengths(pair)


def _lacking(heads: list[Head], what: str, severity: Severity | None) -> Iterator[Flaw]:
    for head in heads:
        yield at_head(
            head, f"{what} the {head.pitch} that begins here",
            expected="the same notes on both staves", severity=severity,
        )  # fmt: skip


def _lengths(pair: Doubling) -> Iterator[Flaw]:
    for above, below in pair.pairs:
        if above.duration != below.duration and not above.is_chord:
            yield at_head(
                above, f"{above.pitch} lasts longer on the "
                f"{'notation' if above.duration > below.duration else 'tab'} staff",
                expected="the same length on both staves", severity=Severity.WARNING,
            )  # fmt: skip
