"""Tuplets that do not fill their time."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.tuplets import unfilled


@rule("tuplet-fill", Severity.ERROR, "the notes of a tuplet do not fill it")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the first note of each tuplet that is too short or too long."""
    for run in unfilled(page):
        first = run[0]
        yield at_head(
            first, f"the {len(run)} notes and rests of the {first.actual}:{first.normal} tuplet "
            "do not fill it", expected=f"{first.actual} notes in the time of {first.normal}",
        )  # fmt: skip
