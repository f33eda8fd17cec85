"""Chord symbols against the notes at their moment."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Bar, Page
from variants.proof.registry import rule
from variants.proof.views.chords import chord_classes, text_of


@rule("chord-symbol", Severity.WARNING, "a chord symbol does not fit the chord that is played")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the symbols that share less than half of the chord that begins with them.

    A single note may be foreign to its chord, so two notes at least must begin together.
    """
    for part in page.parts:
        for bar in part.bars:
            for onset, harmony in bar.harmonies:
                classes = chord_classes(harmony, transposed=_shift(bar))
                played = _played(bar, onset)
                if classes and len(played) > 1 and 2 * len(played & classes) < len(played):
                    yield at_bar(
                        bar, f"the symbol says {text_of(harmony)}, the notes are {_names(played)}",
                        onset=onset, expected="a symbol of the chord that is played",
                        element=harmony,
                    )  # fmt: skip


def _shift(bar: Bar) -> int:
    for head in bar.heads:
        if head.pitch is not None and head.sounding is not None:
            return int(head.sounding - head.pitch.semitones)
    return 0


def _played(bar: Bar, onset: int) -> set[int]:
    return {
        int(head.sounding) % 12
        for head in bar.heads
        if head.onset == onset and head.sounding is not None and not head.is_grace
    }


def _names(classes: set[int]) -> str:
    names = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")
    return " ".join(names[one] for one in sorted(classes))
