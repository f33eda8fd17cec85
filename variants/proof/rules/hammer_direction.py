"""Hammer-ons that go down and pull-offs that go up."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.hammers import hammers


@rule("hammer-direction", Severity.ERROR, "a hammer-on goes down or a pull-off goes up")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the hammer-ons that do not rise and the pull-offs that do not fall."""
    for one in hammers(page):
        rise = one.rise
        if rise is None or (one.strings and one.strings[0] != one.strings[1]):
            continue
        if (one.family == "hammer-on" and rise <= 0) or (one.family == "pull-off" and rise >= 0):
            way = "falls" if rise < 0 else "rises" if rise > 0 else "stays"
            yield at_head(
                one.stop, f"the {one.family} {way} from {one.start.pitch} to {one.stop.pitch}",
                expected="a hammer-on upward, a pull-off downward",
            )  # fmt: skip
