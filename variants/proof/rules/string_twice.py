"""Two notes at once on one string."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import Stop, grips


@rule("string-twice", Severity.ERROR, "two notes begin on one string at once")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that share a string at one moment."""
    for grip in grips(page):
        if len(grip.stops) < 2:
            continue
        seen: dict[int, Stop] = {}
        for stop in grip.stops:
            other = seen.get(stop.string)
            # The same fret in two voices is one note, written for both.
            doubled = other and other.fret == stop.fret and other.head.voice != stop.head.voice
            if other is not None and not doubled:
                yield at_head(
                    stop.head,
                    f"string {stop.string} has fret {other.fret} and fret {stop.fret} at once",
                    expected="one note a string",
                )
            seen[stop.string] = stop
