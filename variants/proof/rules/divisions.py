"""Divisions that are none, or are not given before the first duration."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.slips import slips_of


@rule("divisions", Severity.ERROR, "no divisions say how long a duration is")
def check(page: Page) -> Iterator[Flaw]:
    """Yield divisions that are none and durations before any."""
    return slips_of(page, "divisions")
