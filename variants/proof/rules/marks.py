"""Position, barre and capo marks, which are text: ``V``, ``BIII``, ``½B II``, ``capo 2``."""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from variants.proof.finding import Severity, at_bar
from variants.proof.page import PageBar, PagePart, ScannedPage, pages, parts, view
from variants.proof.registry import Flaws, rule
from variants.proof.scan_note import whole
from variants.proof.views.grips import FINGERS, PageGrip, grips

# Stretch and squeeze are recognised exceptions of one fret (trade.md, 2).
TOLERANCE = 1
_CAPO = re.compile(
    r"\bcapo(?:tasto)?\.?[\s:]*(?:at\s+)?(?:fret\s*)?(\d{1,2}|[IVX]{1,4})\b", re.IGNORECASE
)
_ROMAN = r"(?P<roman>X{0,2}(?:IX|IV|V?I{0,3}))"
_POSITION = re.compile(rf"(?:pos(?:ition|\.)?\s*)?{_ROMAN}(?:\s*pos(?:ition|\.)?)?\.?\Z")
# Common practice: B or C with a numeral, half barres marked by a fraction before or after it.
_BARRE = re.compile(rf"(?:½|1/2|\d/\d)?\s*[BC]\s*\.?\s*(?:½|1/2|\d/\d)?\s*{_ROMAN}\.?\Z")
_VALUES = {"I": 1, "V": 5, "X": 10}


@dataclass(frozen=True, slots=True)
class Label:
    """A mark with its moment and the fret that it names."""

    bar: PageBar
    onset: int
    text: str
    fret: int
    is_barre: bool
    element: etree._Element

    @property
    def moment(self) -> int:
        """Ticks from the start of the part."""
        return self.bar.start + self.onset


@view
def labels(page: ScannedPage) -> list[Label]:
    """Return the marks of every fretted part in order of time."""
    return [
        label
        for part in page.parts
        if part.is_fretted
        for bar in part.bars
        for direction in bar.directions
        if direction.words and len(direction.words) < 20
        for label in _label_of_words(bar, direction.onset, direction.words, direction.element)
    ]


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


def _label_of_words(bar: PageBar, onset: int, words: str, element: etree._Element) -> list[Label]:
    for pattern, is_barre in ((_POSITION, False), (_BARRE, True)):
        found = pattern.match(words)
        if found and found.group("roman"):
            fret = roman_value(found.group("roman"))
            return [Label(bar, onset, words, fret, is_barre, element)]
    return []


def next_grip(label: Label, grips: list[PageGrip], *, fingered: bool) -> PageGrip | None:
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
        if any(stop.fret > 0 and (not fingered or stop.finger in FINGERS) for stop in grip.stops):
            return grip
    return None


@rule("position-text", Severity.WARNING, pages)
def position_text(page: ScannedPage) -> Flaws:
    """A position mark does not fit frets and fingers.

    Every finger that follows at once is more than a fret away.
    """
    for label in labels(page):
        grip = None if label.is_barre else next_grip(label, grips(page), fingered=True)
        positions = {
            stop.fret - int(stop.finger) + 1
            for stop in (grip.stops if grip else ())
            if stop.fret > 0 and stop.finger in FINGERS
        }
        if positions and min(abs(one - label.fret) for one in positions) > TOLERANCE:
            there = min(positions)
            yield at_bar(
                label.bar,
                f"the mark says position {label.text}, the fingers are in position {there}",
                onset=label.onset, expected=f"position {there}", element=label.element,
            )  # fmt: skip


@rule("barre-text", Severity.WARNING, pages)
def barre_text(page: ScannedPage) -> Flaws:
    """A barre mark does not fit the frets.

    The first finger, or the lowest fret, is elsewhere.
    """
    for label in labels(page):
        grip = next_grip(label, grips(page), fingered=False) if label.is_barre else None
        held = _barre_frets(grip) if grip else set()
        if held and label.fret not in held:
            fret = min(held)
            yield at_bar(
                label.bar,
                f"the mark says a barre at fret {label.fret} ({label.text}), fret {fret} is held",
                onset=label.onset, expected=f"a barre at fret {fret}", element=label.element,
            )  # fmt: skip


def _barre_frets(grip: PageGrip) -> set[int]:
    """Return the frets that the barre may be at."""
    first = {stop.fret for stop in grip.stops if stop.fret > 0 and stop.finger == "1"}
    if first or not grip.frets:
        return first
    lowest = min(grip.frets)
    # A barre may be laid before its lowest note is played.
    fingered = any(stop.finger for stop in grip.stops if stop.fret > 0)
    return {lowest} if fingered else set(range(1, lowest + 1))


@rule("capo-text", Severity.WARNING, parts)
def capo_text(part: PagePart) -> Flaws:
    """The words name a capo that the tab does not have."""
    stated = {whole(one.element.findtext("capo") or "0") or 0 for one in part.strings}
    for bar in part.bars if part.is_fretted and part.strings else ():
        for direction in bar.directions:
            found = _CAPO.search(direction.words)
            text = found.group(1) if found else ""
            capo = int(text) if text.isdigit() else roman_value(text.upper())
            if text and capo not in stated:
                there = ", ".join(map(str, sorted(stated))) if stated - {0} else "none"
                yield at_bar(
                    bar, f"the words say capo {capo}, the staff details say {there}",
                    onset=direction.onset, expected=f"<capo>{capo}</capo>",
                    element=direction.element,
                )  # fmt: skip
