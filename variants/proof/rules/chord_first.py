"""A chord member without the note that it should sound with."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.slips import slips_of


@rule("chord-first", Severity.ERROR, "a chord member stands where no note comes before it")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the chord members that follow no note."""
    return slips_of(page, "chord-first")
