"""A finger on an open string."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import FINGERS, grips


@rule("open-fingered", Severity.ERROR, "an open string has a finger")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the open strings that are marked 1 to 4."""
    for grip in grips(page):
        for stop in grip.stops:
            if stop.fret == 0 and stop.finger in FINGERS and not stop.head.is_harmonic:
                yield at_head(
                    stop.head, f"string {stop.string} is open and has finger {stop.finger}",
                    expected="finger 0 or none",
                )  # fmt: skip
