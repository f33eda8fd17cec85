"""Runs of notes under tuplet ratios."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from variants.music.duration import QUARTERS_OF_TYPE
from variants.proof.page import Bar, Head, Page


def _lanes(bar: Bar) -> list[list[Head]]:
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


def unfilled(page: Page) -> Iterator[list[Head]]:
    """Yield the runs whose length no whole number of tuplets gives.

    The notes of a filled tuplet last as long as plain notes, so the length of the run, which has
    the ratio's odd factors in its denominator until it is filled, is a whole number of 1024ths.
    """
    for bar in page.bars():
        if any(head.actual != head.normal for head in bar.heads):
            for lane in _lanes(bar):
                yield from (run for run in _runs(lane) if not _is_filled(run))


def _runs(lane: list[Head]) -> Iterator[list[Head]]:
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
    lane = next((lane for lane in _lanes(head.bar) if head in lane), [])
    if head not in lane or not head.is_tuplet:
        return []
    place = lane.index(head)
    rest = lane[place:] if forward else lane[place::-1]
    unit = _unit(rest)
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


def _unit(heads: list[Head]) -> Fraction:
    first = heads[0]
    stated = QUARTERS_OF_TYPE.get(first.normal_type)
    if stated is not None:
        return stated * (2 - Fraction(1, 2**first.normal_dots))
    near = [printed_quarters(one) for one in heads[: first.actual]]
    return min((one for one in near if one is not None), default=Fraction(1))
