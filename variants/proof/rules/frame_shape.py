"""Chord diagrams whose dots lie outside their own grid."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.scan_note import whole
from variants.proof.views.frames import frame_notes


@rule("frame-shape", Severity.ERROR, "a chord diagram has a dot outside its grid")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the diagrams with strings or frets that their grid does not have."""
    for part in page.parts:
        for bar in part.bars:
            for onset, harmony in bar.harmonies:
                frame = harmony.find("frame")
                if frame is None:
                    continue
                strings = whole(frame.findtext("frame-strings")) or 0
                frets = whole(frame.findtext("frame-frets")) or 0
                first = whole(frame.findtext("first-fret")) or 1
                seen: set[int] = set()
                for note in frame_notes(harmony):
                    cause = ""
                    if not 1 <= note.string <= strings:
                        cause = f"string {note.string} of {strings}"
                    elif note.fret and not first <= note.fret < first + frets:
                        cause = f"fret {note.fret} on frets {first} to {first + frets - 1}"
                    elif note.string in seen:
                        cause = f"two notes on string {note.string}"
                    seen.add(note.string)
                    if cause:
                        yield at_bar(bar, f"the diagram has {cause}", onset=onset,
                                     expected="dots inside the grid", element=harmony)  # fmt: skip
                        break
