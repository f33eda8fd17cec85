"""Where playing jumps: repeats and endings, and the signs and words of jumps."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from lxml import etree

from variants.proof.page import PageBar, PageDirection, PagePart, ScannedPage, view


def is_entered(bar: PageBar) -> bool:
    """Whether playing may come to the start of a measure from elsewhere."""
    return bar.index in _jump_places(bar.part)[0]


def is_left(bar: PageBar) -> bool:
    """Whether playing may go elsewhere at the end of a measure."""
    return bar.index in _jump_places(bar.part)[1]


@view
def _jump_places(part: PagePart) -> tuple[frozenset[int], frozenset[int]]:
    """Return the indices of the measures that are entered, and left, otherwise than in order."""
    entered, left = set(), set()
    for bar in part.bars:
        for location, barline in bar.barlines:
            repeat = barline.find("repeat")
            ending = barline.find("ending")
            direction = "" if repeat is None else repeat.get("direction", "")
            if direction == "backward":
                left.add(bar.index)
                entered.add(bar.index + 1)
            elif direction == "forward":
                entered.add(bar.index)
                left.add(bar.index - 1)
            if ending is not None and ending.get("type") == "start":
                entered.add(bar.index)
                left.add(bar.index - 1)
            if barline.find("segno") is not None or barline.find("coda") is not None:
                entered.add(bar.index + (location != "left"))
        _add_sign_places(bar, entered, left)
    return frozenset(entered), frozenset(left)


def _add_sign_places(bar: PageBar, entered: set[int], left: set[int]) -> None:
    for direction in bar.directions:
        element = direction.element
        sound = direction.sound
        if element.find("direction-type/segno") is not None:
            entered.add(bar.index)
        if element.find("direction-type/coda") is not None:
            entered |= {bar.index, bar.index + 1}
            left |= {bar.index - 1, bar.index}
        if sound is not None and any(
            sound.get(name) for name in ("dacapo", "dalsegno", "tocoda", "fine")
        ):
            left.add(bar.index)
            entered.add(bar.index + 1)


class Sign(Enum):
    """A sign that a jump goes to, or a jump."""

    SEGNO = "segno"
    CODA = "coda"
    FINE = "fine"
    DAL_SEGNO = "dal segno"
    TO_CODA = "to coda"
    AL_FINE = "al fine"


@dataclass(frozen=True, slots=True)
class EndingMark:
    """One end of an ending bracket."""

    bar: PageBar
    kind: str
    number: str

    @property
    def numbers(self) -> tuple[int, ...]:
        """The numbers that it is for: ``1, 2`` and ``1-3`` name several."""
        found: list[int] = []
        for first, last in re.findall(r"(\d{1,4})(?:\s*-\s*(\d{1,4}))?", self.number):
            found += range(int(first), min(int(last or first), 99) + 1)
        return tuple(found)


def repeats(part: PagePart) -> Iterator[tuple[str, PageBar]]:
    """Yield (direction, measure) of every repeat sign in the order of playing."""
    for bar in part.bars:
        for _, barline in _barlines_in_order(bar):
            repeat = barline.find("repeat")
            if repeat is not None and repeat.get("direction") in {"forward", "backward"}:
                yield str(repeat.get("direction")), bar


def endings(part: PagePart) -> Iterator[EndingMark]:
    """Yield every end of every ending bracket."""
    for bar in part.bars:
        for _, barline in _barlines_in_order(bar):
            for ending in barline.findall("ending"):
                yield EndingMark(bar, ending.get("type", ""), ending.get("number", ""))


def _barlines_in_order(bar: PageBar) -> list[tuple[str, etree._Element]]:
    order = {"left": 0, "middle": 1, "right": 2}
    return sorted(bar.barlines, key=lambda one: order.get(one[0], 1))


_WORDS = (
    (re.compile(r"\bd\.?\s*s\.?(?=\s|\.|$)|\bdal\s+segno", re.IGNORECASE), Sign.DAL_SEGNO),
    (re.compile(r"\bto\s+coda\b|\bal\s+coda\b|\balla\s+coda\b", re.IGNORECASE), Sign.TO_CODA),
    # "rit. al fine" slows down to the end and jumps nowhere.
    (
        re.compile(r"(?:\bd\.?\s*[cs]\b|\bcapo\b|\bsegno\b).*\bal\s+fine\b", re.IGNORECASE),
        Sign.AL_FINE,
    ),
    (re.compile(r"(?<!al )\bfine\b", re.IGNORECASE), Sign.FINE),
    (re.compile(r"^\W*coda\b", re.IGNORECASE), Sign.CODA),
)


def jump_signs(page: ScannedPage) -> list[tuple[Sign, PageBar]]:
    """Return the signs and jumps of all parts together, in order of time within a part."""
    found: list[tuple[Sign, PageBar]] = []
    for part in page.parts:
        for bar in part.bars:
            for _, barline in bar.barlines:
                for name, sign in (("segno", Sign.SEGNO), ("coda", Sign.CODA)):
                    if barline.find(name) is not None or barline.get(name):
                        found.append((sign, bar))
            for direction in bar.directions:
                found += [(sign, bar) for sign in _signs_of(direction)]
    return found


def _signs_of(direction: PageDirection) -> Iterator[Sign]:
    element = direction.element
    sound = direction.sound
    stated: dict[str, str] = {} if sound is None else {str(k): str(v) for k, v in sound.items()}
    if element.find("direction-type/segno") is not None or stated.get("segno"):
        yield Sign.SEGNO
    if element.find("direction-type/coda") is not None or stated.get("coda"):
        yield Sign.CODA
    if stated.get("dalsegno"):
        yield Sign.DAL_SEGNO
    if stated.get("tocoda"):
        yield Sign.TO_CODA
    if stated.get("fine"):
        yield Sign.FINE
    # Long texts are remarks, and remarks may speak of a fine tone.
    if direction.words and len(direction.words) < 40:
        yield from (sign for pattern, sign in _WORDS if pattern.search(direction.words))
