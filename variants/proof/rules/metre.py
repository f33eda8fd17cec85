"""A time signature that is none."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.slips import slips_of


@rule("metre", Severity.ERROR, "a time signature that nobody can read")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the time signatures that are none."""
    return slips_of(page, "metre")
