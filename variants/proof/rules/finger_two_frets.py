"""One finger on two frets at once."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import FINGERS, grips


@rule("finger-two-frets", Severity.ERROR, "one finger stands on two frets at once")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the grips in which a finger would have to be in two places."""
    for grip in grips(page):
        held = [stop for stop in grip.stops if stop.finger in FINGERS and stop.fret > 0]
        for one, other in combinations(held, 2):
            if one.finger == other.finger and one.fret != other.fret:
                yield at_head(
                    other.head,
                    f"finger {one.finger} is on fret {one.fret} and on fret {other.fret} at once",
                    expected="one fret a finger",
                )
                break
