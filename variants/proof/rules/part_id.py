"""Parts that are not declared, declared twice, or declared and not there."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.slips import slips_of


@rule("part-id", Severity.ERROR, "a part that the part list does not have, or the other way about")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the parts that the part list and the music do not share."""
    return slips_of(page, "part-id")
