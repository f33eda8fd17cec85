"""Notes that the instrument does not have."""

from __future__ import annotations

from collections.abc import Iterator

from variants.music import Key, spelled
from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page, PagePart
from variants.proof.registry import rule
from variants.proof.views.octave import slip_of
from variants.proof.views.strings import instrument_of

# No staff is taken to be further off than two octaves, so higher notes need no second look.
MOST_SLIP = 24


@rule("note-range", Severity.WARNING, "a note lies below the lowest string")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes of fretted parts that no string reaches down to.

    Where the file gives the tuning and the place of the note is not given, it is certain.
    """
    for part in page.parts:
        if part.is_fretted:
            yield from _of_part(page, part)


def _of_part(page: Page, part: PagePart) -> Iterator[Flaw]:
    for head in part.heads:
        sounding = head.sounding
        if sounding is None or head.is_placed or head.is_cue:
            continue
        instrument = instrument_of(head)
        if instrument is None:
            continue
        lowest = min(instrument.open_midi)
        # A staff that is off as a whole has that finding already.
        if sounding < lowest + MOST_SLIP and sounding + slip_of(page, head) < lowest:
            yield at_head(
                head, f"{head.pitch} sounds lower than the lowest string, "
                f"{spelled(lowest, Key(0))}", expected="a note that the instrument has",
            )  # fmt: skip
