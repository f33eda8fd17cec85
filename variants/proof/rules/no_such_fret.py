"""Frets that the neck does not have."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.scan_attributes import MOST_FRETS
from variants.proof.views.strings import instrument_of

# No fretted neck has more: the longest guitars have 36 frets (common practice, from memory).
LONGEST_NECK = 36


@rule("no-such-fret", Severity.ERROR, "a fret that the neck does not have")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes at frets that do not exist; frets that few necks have are warnings."""
    for part in page.parts:
        for head in part.heads:
            if head.fret == -1:
                continue
            if head.fret < 0:
                yield at_head(head, f"there is no fret {head.fret + 1000}",
                              expected="fret 0 or more")  # fmt: skip
                continue
            instrument = instrument_of(head)
            fret = head.fret + (instrument.capo if instrument else 0)
            if fret > MOST_FRETS:
                behind = f", behind the capo fret {fret}" if fret != head.fret else ""
                yield at_head(
                    head, f"fret {head.fret} is beyond the end of the neck{behind}",
                    expected=f"a fret up to {MOST_FRETS}",
                    severity=None if fret > LONGEST_NECK else Severity.WARNING,
                )  # fmt: skip
