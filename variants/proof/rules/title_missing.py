"""Scores without a title."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule


@rule("title-missing", Severity.HINT, "the score has no title")
def check(page: Page) -> Iterator[Flaw]:
    """Yield one hint for a score that has neither a work title nor a movement title."""
    root = page.root
    titles = (root.findtext("work/work-title"), root.findtext("movement-title"))
    if not any((title or "").strip() for title in titles):
        yield Flaw("the score has no title", "a title")
