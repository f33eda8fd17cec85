"""Scores without a rights line."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule


@rule("rights-missing", Severity.HINT, "the score has no rights line")
def check(page: Page) -> Iterator[Flaw]:
    """Yield one hint for a score that does not say who may copy it."""
    found = page.root.findall("identification/rights")
    credits_ = page.root.iterfind("credit/credit-type")
    if any((one.text or "").strip() for one in found):
        return
    if any((one.text or "").strip() == "rights" for one in credits_):
        return
    yield Flaw("the score has no rights line", "a <rights> line: who owns it, or public domain")
