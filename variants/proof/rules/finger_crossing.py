"""A higher finger on a lower fret."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import FINGERS, grips


@rule("finger-crossing", Severity.WARNING, "a higher finger stands on a lower fret")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the grips in which fingers cross, once each.

    Of 3,283 published chord shapes 9 do (trade.md, 2), so it is no error.
    """
    for grip in grips(page):
        held = [stop for stop in grip.stops if stop.finger in FINGERS and stop.fret > 0]
        for one, other in combinations(held, 2):
            low, high = sorted((one, other), key=lambda stop: stop.finger)
            if low.finger != high.finger and low.fret > high.fret:
                yield at_head(
                    high.head,
                    f"finger {high.finger} is on fret {high.fret} and finger {low.finger} above "
                    f"it on fret {low.fret}",
                    expected="fingers in the order of the frets",
                )
                break
