"""Tunings that do not fit the lines of their staff."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.slips import slips_of


@rule("string-count", Severity.ERROR, "the tuned strings are not those of the lines of the tab")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the tunings that do not fit."""
    return slips_of(page, "string-count")
