"""Hammer-ons and pull-offs from one string to another."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.hammers import hammers


@rule("hammer-string", Severity.ERROR, "a hammer-on or pull-off changes the string")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the hammer-ons and pull-offs between two strings."""
    for one in hammers(page):
        if one.strings and one.strings[0] != one.strings[1]:
            yield at_head(
                one.stop, f"the {one.family} goes from string {one.strings[0]} to string "
                f"{one.strings[1]}", expected="one string",
            )  # fmt: skip
