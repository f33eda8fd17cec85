"""Chord diagrams against their chord symbol."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Bar, Page
from variants.proof.registry import rule
from variants.proof.views.chords import chord_classes, text_of
from variants.proof.views.frames import FrameNote, frame_notes
from variants.score import STANDARD_GUITAR, Instrument


@rule("frame-chord", Severity.WARNING, "a chord diagram does not give its chord in the tuning")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the diagrams with a string that is no note of the symbol.

    One foreign string may be a colour that the symbol leaves out; the root must be there unless
    fewer than three strings are drawn.
    """
    for part in page.parts:
        for bar in part.bars:
            for onset, harmony in bar.harmonies:
                notes = frame_notes(harmony)
                instrument = _instrument(bar)
                if not notes or instrument is None:
                    continue
                classes = chord_classes(harmony)
                sounds = _sounds(notes, instrument)
                if not classes or not sounds or sounds <= classes:
                    continue
                yield at_bar(
                    bar, f"the diagram of {text_of(harmony)} has a note that is not in the chord",
                    onset=onset, expected="strings and frets of the chord", element=harmony,
                )  # fmt: skip


def _instrument(bar: Bar) -> Instrument | None:
    tuned = [one for one in bar.part.strings if one.instrument is not None]
    return tuned[0].instrument if tuned else STANDARD_GUITAR


def _sounds(notes: list[FrameNote], instrument: Instrument) -> set[int]:
    return {
        (instrument.open_midi[one.string - 1] + one.fret) % 12
        for one in notes
        if 1 <= one.string <= instrument.strings
    }
