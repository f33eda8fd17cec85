"""Slurs without their other end."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.jumps import is_entered, is_left
from variants.proof.views.spans import End, matched, note_ends


@rule("slur-open", Severity.ERROR, "a slur has no other end")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the slurs that hang loose; over a repeat or into an ending they may."""
    for part in page.parts:
        _, loose = matched(note_ends(page, part, "slur"))
        for end in loose:
            yield at_bar(
                end.bar,
                "the slur that begins here ends nowhere"
                if end.is_start
                else "the slur that ends here begins nowhere",
                onset=end.onset, expected="both ends of the slur", element=end.element,
                voice=end.lane[0], severity=Severity.HINT if _jumps(page, end) else None,
            )  # fmt: skip


def _jumps(page: Page, end: End) -> bool:
    return is_left(page, end.bar) if end.is_start else is_entered(page, end.bar)
