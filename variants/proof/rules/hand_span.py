"""Frets held at once that are too far apart for a hand."""

from __future__ import annotations

from collections.abc import Iterator

from variants.cautions import STRETCH
from variants.guitar.hand import Hand
from variants.guitar.neck import SCALE_LENGTHS_MM, span_mm
from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import grips


@rule("hand-span", Severity.WARNING, "frets held at once are too far apart for a hand")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the grips that are wider than the hand of `Page.hand` between fingers 1 and 4."""
    limit = Hand.of(page.hand).limit_mm(1, 4)
    full = SCALE_LENGTHS_MM["full"]
    for grip in grips(page):
        if len(grip.stops) < 2:
            continue
        capo = grip.instrument.capo if grip.instrument else 0
        frets = [stop.fret + capo for stop in grip.stops if stop.fret > 0]
        if len(frets) < 2 or max(frets) - min(frets) < 4:
            continue
        wide = span_mm(min(frets), max(frets), scale_length_mm=full)
        if wide > limit:
            yield at_head(
                grip.stops[0].head,
                f"frets {min(frets)} and {max(frets)} at once are {wide:.0f} mm apart on a full-"
                f"size neck, the hand spans {limit:.0f} mm; {STRETCH}",
                expected="the same notes closer together",
            )
