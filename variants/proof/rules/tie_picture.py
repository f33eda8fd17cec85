"""Ties that sound and are not drawn, or the other way about."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule


@rule("tie-picture", Severity.WARNING, "a tie sounds and is not drawn, or is drawn and silent")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes with only one of the two, in parts that write both elsewhere."""
    for part in page.parts:
        tied = [h for h in part.heads if h.tie_start or h.tied_start or h.tie_stop or h.tied_stop]
        odd = [head for head in tied if _differs(head)]
        if odd and 2 * len(odd) < len(tied):
            for head in odd:
                yield at_head(
                    head, f"{head.pitch} has a tie that is only "
                    f"{'heard' if head.tie_start or head.tie_stop else 'seen'}",
                    expected="both <tie> and <tied>",
                )  # fmt: skip


def _differs(head: Head) -> bool:
    return head.tie_start != head.tied_start or head.tie_stop != head.tied_stop
