"""Notes that the notation holds and the tab strikes again."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.doubling import doublings
from variants.proof.views.ties import ends


@rule("tie-restruck", Severity.ERROR, "a note is held in the notation and struck in the tab")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that only one of the two ties."""
    for pair in doublings(page):
        for above, below in pair.pairs:
            if ends(above) and not ends(below):
                yield at_head(
                    below, f"the notation holds {above.pitch} here and the tab strikes it again",
                    expected="a tie in the tab too",
                )  # fmt: skip
            elif ends(below) and not ends(above):
                yield at_head(
                    above, f"the tab holds {above.pitch} here and the notation strikes it again",
                    expected="a tie in the notation too",
                )  # fmt: skip
