"""A stopped note that is marked as open."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.doubling import partners
from variants.proof.views.grips import grips
from variants.proof.views.strings import instrument_of


@rule("stopped-open-finger", Severity.ERROR, "a stopped note is marked 0, which means open")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the stopped notes that are marked 0, and those that no open string sounds."""
    for grip in grips(page):
        for stop in grip.stops:
            if stop.fret > 0 and stop.finger == "0" and not stop.head.is_harmonic:
                yield at_head(
                    stop.head, f"fret {stop.fret} on string {stop.string} is marked 0",
                    expected="finger 1 to 4",
                )  # fmt: skip
    yield from _without_places(page)


def _without_places(page: Page) -> Iterator[Flaw]:
    other = partners(page)
    for part in page.parts:
        if not (part.is_guitar or part.strings):
            continue
        for head in part.heads:
            if head.finger != "0" or head.is_placed or head.is_harmonic or head in other:
                continue
            instrument = instrument_of(head)
            sounding = head.sounding
            if instrument is None or sounding is None:
                continue
            # The octave may be left open by the file, so pitch classes are compared.
            if sounding % 12 not in {midi % 12 for midi in instrument.open_midi}:
                yield at_head(
                    head, f"{head.pitch} is marked 0, and no open string sounds it",
                    expected="finger 1 to 4", severity=Severity.WARNING,
                )  # fmt: skip
