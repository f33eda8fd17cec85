"""Notes whose sign stands in another octave only."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.signs import NAMES, Trouble, sign_report


@rule("accidental-octave", Severity.HINT, "a letter has another sign in another octave")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that a courtesy sign would keep from being misread."""
    for part in page.parts:
        report = sign_report(page, part)
        if not report.printed:
            continue
        for one in report.of(Trouble.OCTAVE):
            other = NAMES.get(int(one.reads_as), "altered")
            yield at_head(
                one.head, f"{one.head.pitch} has no sign, and the same letter is {other} in "
                "another octave of the measure", expected="a courtesy sign",
            )  # fmt: skip
