"""Where playing jumps: repeats and endings, and the signs and words of jumps."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lxml import etree

from variants.proof.page import PageBar, PageDirection, PagePart, ScannedPage, view
from variants.score.playing import JUMPS, asked_for, named_signs, passes


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
        if sound is not None and any(sound.get(name) for name in JUMPS):
            left.add(bar.index)
            entered.add(bar.index + 1)


@dataclass(frozen=True, slots=True)
class EndingMark:
    """One end of an ending bracket."""

    bar: PageBar
    kind: str
    number: str

    @property
    def numbers(self) -> tuple[int, ...]:
        """The passes that it is for."""
        return tuple(passes(self.number))


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


_DRAWN = ("segno", "coda")


def jump_signs(page: ScannedPage) -> list[tuple[str, PageBar]]:
    """Return the signs and jumps of all parts together, in order of time within a part.

    They are named as `variants.score.playing` names them; ``alfine`` is a jump back that asks for
    a Fine.
    """
    found: list[tuple[str, PageBar]] = []
    for part in page.parts:
        for bar in part.bars:
            for _, barline in bar.barlines:
                drawn = [n for n in _DRAWN if barline.find(n) is not None or barline.get(n)]
                found += [(name, bar) for name in drawn]
            for direction in bar.directions:
                found += [(name, bar) for name in _signs_of(direction)]
    return found


def _signs_of(direction: PageDirection) -> set[str]:
    pictures = [n for n in _DRAWN if direction.element.find(f"direction-type/{n}") is not None]
    sound: dict[str, str] = {}
    if direction.sound is not None:
        sound = {n: text for n in (*JUMPS, *_DRAWN) if (text := direction.sound.get(n))}
    signs = set(named_signs(direction.words, sound, pictures))
    asked = asked_for(direction.words)
    # "rit. al fine" slows down to the end and jumps nowhere.
    if "fine" in asked and signs & {"dacapo", "dalsegno"}:
        signs.add("alfine")
    if "coda" in asked:
        signs.add("tocoda")
    return signs
