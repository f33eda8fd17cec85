"""A ``backup`` leads before the start of its measure."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.slips import slips_of


@rule("backup", Severity.ERROR, "a backup leads before the start of the measure")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the backups that lead too far."""
    return slips_of(page, "backup")
