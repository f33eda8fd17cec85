"""Position and barre marks as text: ``V``, ``BIII``, ``½B II``, ``C V``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from variants.proof.page import Bar, Page
from variants.proof.views.grips import FINGERS, Grip

_ROMAN = r"(?P<roman>X{0,2}(?:IX|IV|V?I{0,3}))"
_POSITION = re.compile(rf"(?:pos(?:ition|\.)?\s*)?{_ROMAN}(?:\s*pos(?:ition|\.)?)?\.?\Z")
# Common practice: B or C with a numeral, half barres marked by a fraction before or after it.
_BARRE = re.compile(rf"(?:½|1/2|\d/\d)?\s*[BC]\s*\.?\s*(?:½|1/2|\d/\d)?\s*{_ROMAN}\.?\Z")
_VALUES = {"I": 1, "V": 5, "X": 10}


@dataclass(frozen=True, slots=True)
class Label:
    """A mark with its moment and the fret that it names."""

    bar: Bar
    onset: int
    text: str
    fret: int
    is_barre: bool
    element: etree._Element

    @property
    def moment(self) -> int:
        """Ticks from the start of the part."""
        return self.bar.start + self.onset


def labels(page: Page) -> list[Label]:
    """Return the marks of every fretted part in order of time."""
    known = page.views.get("labels")
    if known is None:
        known = page.views["labels"] = [
            label
            for part in page.parts
            if part.is_fretted
            for bar in part.bars
            for direction in bar.directions
            if direction.words and len(direction.words) < 20
            for label in _label(bar, direction.onset, direction.words, direction.element)
        ]
    return known  # type: ignore[return-value]


def roman_value(text: str) -> int:
    """Return the number of a Roman numeral up to 29; 0 for the empty text.

    >>> [roman_value(text) for text in ("IV", "IX", "XII")]
    [4, 9, 12]
    """
    values = [_VALUES[letter] for letter in text]
    total = 0
    for value, after in zip(values, [*values[1:], 0], strict=False):
        total += -value if value < after else value
    return total


def _label(bar: Bar, onset: int, words: str, element: etree._Element) -> list[Label]:
    for pattern, is_barre in ((_POSITION, False), (_BARRE, True)):
        found = pattern.match(words)
        if found and found.group("roman"):
            fret = roman_value(found.group("roman"))
            return [Label(bar, onset, words, fret, is_barre, element)]
    return []


def next_grip(label: Label, grips: list[Grip], *, fingered: bool) -> Grip | None:
    """Return the first grip with a stopped string from a mark on, within its measure and the next.

    Args:
        label: The mark.
        grips: All grips.
        fingered: Whether a finger must be printed.
    """
    for grip in grips:
        if grip.bar.part is not label.bar.part or grip.moment < label.moment:
            continue
        if grip.bar.index > label.bar.index + 1:
            return None
        stopped = [stop for stop in grip.stops if stop.fret > 0]
        if fingered:
            stopped = [stop for stop in stopped if stop.finger in FINGERS]
        if stopped:
            return grip
    return None
