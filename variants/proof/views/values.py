"""Printed values: tuplets, rounded durations, and measures that are no metre long for a reason."""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from fractions import Fraction

from variants.music.duration import QUARTERS_OF_TYPE
from variants.proof.page import Head, PageBar, PagePart, ScannedPage


def is_rounded(head: Head, wanted: int | Fraction) -> bool:
    """Whether a duration differs from what its value asks for, in ticks, by rounding alone.

    Divisions of a fine grain are rounded by one here and there; of a coarse one they are not.
    """
    off = abs(float(wanted - head.duration))
    division = head.bar.division
    return off < division or (off == division and 8 * division <= wanted)


def _lanes_of(bar: PageBar) -> list[list[Head]]:
    """Return the notes and rests of each voice and staff, one of each chord, without graces."""
    lanes: dict[str, list[Head]] = {}
    for head in bar.heads:
        if not (head.is_chord or head.is_grace):
            lanes.setdefault(head.voice, []).append(head)
    return list(lanes.values())


def printed_quarters(head: Head) -> Fraction | None:
    """Return the length of the printed value without its ratio, ``None`` if there is none."""
    base = QUARTERS_OF_TYPE.get(head.type)
    return None if base is None else base * (2 - Fraction(1, 2**head.dots))


def unfilled(page: ScannedPage) -> Iterator[list[Head]]:
    """Yield the runs whose length no whole number of tuplets gives.

    The notes of a filled tuplet last as long as plain notes, so the length of the run, which has
    the ratio's odd factors in its denominator until it is filled, is a whole number of 1024ths.
    """
    for bar in page.bars():
        if any(head.actual != head.normal for head in bar.heads):
            for lane in _lanes_of(bar):
                yield from (run for run in _tuplet_runs(lane) if not _is_filled(run))


def _tuplet_runs(lane: list[Head]) -> Iterator[list[Head]]:
    run: list[Head] = []
    for head in lane:
        # Ratios change inside a run where tuplets are nested.
        if run and not (head.is_tuplet and head.onset == run[-1].onset + run[-1].duration):
            yield run
            run = []
        if head.is_tuplet:
            run.append(head)
    if run:
        yield run


def _is_filled(run: list[Head]) -> bool:
    total = Fraction(0)
    for head in run:
        printed = printed_quarters(head)
        if printed is None:
            return True
        total += printed * head.normal / head.actual
    return total.denominator & (total.denominator - 1) == 0


def group_from(head: Head, *, forward: bool) -> list[Head]:
    """Return the notes of the tuplet that begins (or ends) at a note, the far end last.

    Empty when the ratio does not say where the tuplet ends: no ratio, or no sum of the values
    that follow makes it full.
    """
    lane = next((lane for lane in _lanes_of(head.bar) if head in lane), [])
    if head not in lane or not head.is_tuplet:
        return []
    place = lane.index(head)
    rest = lane[place:] if forward else lane[place::-1]
    unit = _tuplet_unit(rest)
    total, group = Fraction(0), []
    for one in rest:
        printed = printed_quarters(one)
        if printed is None or (one.actual, one.normal) != (head.actual, head.normal):
            return []
        total += printed
        group.append(one)
        if total >= head.actual * unit:
            return group if total == head.actual * unit else []
    return []


def _tuplet_unit(heads: list[Head]) -> Fraction:
    first = heads[0]
    stated = QUARTERS_OF_TYPE.get(first.normal_type)
    if stated is not None:
        return stated * (2 - Fraction(1, 2**first.normal_dots))
    near = [printed_quarters(one) for one in heads[: first.actual]]
    return min((one for one in near if one is not None), default=Fraction(1))


# A barline that may stand inside a measure.
_DIVIDING = frozenset(
    {"light-light", "light-heavy", "heavy-light", "heavy-heavy", "dashed", "dotted", "none", "tick"}
)


class Exempt(Enum):
    """What a good reason a measure has."""

    FULLY = "exempt"
    HINT = "hint"
    WARNING = "warning"
    NOT = "no reason"


def is_rounding(bar: PageBar) -> bool:
    """Whether the difference comes of durations that had to be rounded to divisions.

    Then the printed values add up to the metre, and each is less than a division away.
    """
    off = abs(bar.reach - bar.full)
    if off <= bar.division and 32 * bar.division <= bar.full:
        return True
    if off > bar.division * len(bar.heads):
        return False
    unit = Fraction(bar.full) / bar.metre.quarters if bar.metre else Fraction(1)
    lanes: dict[str, Fraction] = {}
    for head in bar.heads:
        if head.is_chord or head.is_grace:
            continue
        printed = printed_quarters(head)
        if printed is None:
            return False
        exact = printed * head.normal / head.actual
        if not is_rounded(head, exact * unit):
            return False
        lanes[head.voice] = lanes.get(head.voice, Fraction(0)) + exact
    return bar.metre is not None and max(lanes.values(), default=None) == bar.metre.quarters


def exemption(page: ScannedPage, bar: PageBar) -> Exempt:
    """Return how far a measure that is not as long as its metre is excused."""
    if bar.reach > bar.full:
        if bar.is_non_controlling:
            return Exempt.WARNING
        return Exempt.WARNING if _is_in_every_part(page, bar) else Exempt.NOT
    if bar.is_implicit or bar.is_non_controlling:
        return Exempt.FULLY
    if bar.index == 0:
        # A pick-up that is not marked as one.
        return Exempt.HINT
    is_end = _is_divided(bar) or bar.index == len(bar.part.bars) - 1
    if is_end and _completes(bar, _sections(bar)):
        return Exempt.FULLY
    neighbours = _neighbours(bar)
    if _completes(bar, [one for one in neighbours if one.is_implicit]):
        return Exempt.FULLY
    if is_end or _is_in_every_part(page, bar) or _completes(bar, neighbours):
        return Exempt.WARNING
    return Exempt.NOT


def _completes(bar: PageBar, others: list[PageBar]) -> bool:
    return any(other.reach and other.reach + bar.reach == bar.full for other in others)


def _neighbours(bar: PageBar) -> list[PageBar]:
    """Return the measures before and after; a pick-up at the beginning completes nothing."""
    bars = bar.part.bars
    found = bars[bar.index - 1 : bar.index] if bar.index > 1 else []
    return [*found, *bars[bar.index + 1 : bar.index + 2]]


def _sections(bar: PageBar) -> list[PageBar]:
    """Return the measures whose time a shortened end may give back: pick-ups of sections."""
    before = [one for one in bar.part.bars if one.index < bar.index and _begins_section(one)]
    return [*before, *_neighbours(bar)]


def _begins_section(bar: PageBar) -> bool:
    if bar.index == 0:
        return True
    return 0 < bar.reach < bar.full


def _is_divided(bar: PageBar) -> bool:
    """Whether a repeat sign or a double bar stands at one of its ends."""
    bars = bar.part.bars
    before = bars[bar.index - 1] if bar.index else None
    after = bars[bar.index + 1] if bar.index + 1 < len(bars) else None
    return (
        _has_division(bar, "left")
        or _has_division(bar, "right")
        or (before is not None and _has_division(before, "right"))
        or (after is not None and _has_division(after, "left"))
    )


def _has_division(bar: PageBar, side: str) -> bool:
    for location, barline in bar.barlines:
        if location != side:
            continue
        style = (barline.findtext("bar-style") or "").strip()
        if style in _DIVIDING or barline.find("repeat") is not None:
            return True
    return False


def _is_in_every_part(page: ScannedPage, bar: PageBar) -> bool:
    """Whether every part of a score of several has the same odd length here."""
    if len(page.parts) < 2:
        return False
    others = [part for part in page.parts if part is not bar.part and _has_measure(part, bar.index)]
    return bool(others) and all(part.bars[bar.index].reach == bar.reach for part in others)


def _has_measure(part: PagePart, index: int) -> bool:
    return index < len(part.bars) and part.bars[index].reach > 0
