"""Values that no program can read."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.slips import slips_of


@rule("xml-value", Severity.ERROR, "a value that no program can read")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the values that are none."""
    return slips_of(page, "xml-value")
