"""Barre marks against the frets that they hold."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import Grip, grips
from variants.proof.views.labels import labels, next_grip


@rule("barre-text", Severity.WARNING, "a barre mark does not fit the frets")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the barre marks at which the first finger, or the lowest fret, is elsewhere."""
    found = grips(page)
    for label in labels(page):
        if not label.is_barre:
            continue
        grip = next_grip(label, found, fingered=False)
        held = _held(grip) if grip else set()
        if held and label.fret not in held:
            fret = min(held)
            yield at_bar(
                label.bar,
                f"the mark says a barre at fret {label.fret} ({label.text}), fret {fret} is held",
                onset=label.onset,
                expected=f"a barre at fret {fret}",
                element=label.element,
            )


def _held(grip: Grip) -> set[int]:
    """Return the frets that the barre may be at."""
    stopped = [stop for stop in grip.stops if stop.fret > 0]
    first = {stop.fret for stop in stopped if stop.finger == "1"}
    if first or not stopped:
        return first
    lowest = min(stop.fret for stop in stopped)
    # A barre may be laid before its lowest note is played.
    return {lowest} if any(stop.finger for stop in stopped) else set(range(1, lowest + 1))
