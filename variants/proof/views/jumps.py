"""Where playing jumps: repeats and endings. Ties and slurs may begin or end over a jump."""

from __future__ import annotations

from variants.proof.page import Bar, Page, PagePart


def is_entered(page: Page, bar: Bar) -> bool:
    """Whether playing may come to the start of a measure from elsewhere."""
    return bar.index in _tables(page, bar.part)[0]


def is_left(page: Page, bar: Bar) -> bool:
    """Whether playing may go elsewhere at the end of a measure."""
    return bar.index in _tables(page, bar.part)[1]


def _tables(page: Page, part: PagePart) -> tuple[frozenset[int], frozenset[int]]:
    known = page.views.get(("jumps", id(part)))
    if known is None:
        known = page.views["jumps", id(part)] = _found(part)
    return known  # type: ignore[return-value]


def _found(part: PagePart) -> tuple[frozenset[int], frozenset[int]]:
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
        _signs(bar, entered, left)
    return frozenset(entered), frozenset(left)


def _signs(bar: Bar, entered: set[int], left: set[int]) -> None:
    for direction in bar.directions:
        element = direction.element
        sound = element if element.tag == "sound" else element.find("sound")
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
