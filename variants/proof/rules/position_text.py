"""Position marks against the fingers that follow."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import FINGERS, grips
from variants.proof.views.labels import labels, next_grip

# Stretch and squeeze are recognised exceptions of one fret (trade.md, 2).
TOLERANCE = 1


@rule("position-text", Severity.WARNING, "a position mark does not fit frets and fingers")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the marks from which every finger that follows at once is more than a fret away."""
    found = grips(page)
    for label in labels(page):
        if label.is_barre:
            continue
        grip = next_grip(label, found, fingered=True)
        if grip is None:
            continue
        positions = {
            stop.fret - int(stop.finger) + 1
            for stop in grip.stops
            if stop.fret > 0 and stop.finger in FINGERS
        }
        if positions and min(abs(one - label.fret) for one in positions) > TOLERANCE:
            there = min(positions)
            yield at_bar(
                label.bar,
                f"the mark says position {label.text}, the fingers are in position {there}",
                onset=label.onset,
                expected=f"position {there}",
                element=label.element,
            )
