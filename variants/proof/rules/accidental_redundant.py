"""Signs that say what holds already."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.signs import Trouble, sign_report


@rule("accidental-redundant", Severity.HINT, "a sign repeats what the key or the measure says")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the signs that nothing asks for and that are not marked as a courtesy."""
    for part in page.parts:
        for one in sign_report(page, part).of(Trouble.REDUNDANT):
            yield at_head(
                one.head, f"the {one.head.sign} of {one.head.pitch} holds already",
                expected="no sign, or one in parentheses",
            )  # fmt: skip
