"""Printed note values against durations."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache

from variants.music.duration import QUARTERS_OF_TYPE
from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.rounding import is_rounded


@rule("note-value", Severity.ERROR, "a note lasts longer or shorter than it is printed")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes whose duration is more than a rounding away from their value."""
    ticks = page.ticks
    for part in page.parts:
        for head in part.heads:
            if not head.has_duration or not head.type or head.is_cue:
                continue
            wanted = _ticks(head.type, head.dots, head.actual, head.normal, ticks)
            if wanted is None or wanted == head.duration:
                continue
            if is_rounded(head, wanted) or _is_whole_rest(head):
                continue
            yield at_head(
                head,
                f"{_value(head)} lasts {Fraction(head.duration, ticks)} quarters",
                expected=f"a duration of {Fraction(wanted) / ticks} quarters",
            )


@lru_cache(maxsize=4096)
def _ticks(kind: str, dots: int, actual: int, normal: int, ticks: int) -> int | Fraction | None:
    base = QUARTERS_OF_TYPE.get(kind)
    if base is None or dots > 8:
        return None
    exact = base * (2 - Fraction(1, 2**dots)) * normal * ticks / actual
    return int(exact) if exact.denominator == 1 else exact


def _is_whole_rest(head: Head) -> bool:
    # A whole rest stands for a measure of any length.
    return head.is_rest and (head.is_measure_rest or head.type in {"whole", "breve"})


def _value(head: Head) -> str:
    ratio = f" in a {head.actual}:{head.normal} tuplet" if head.is_tuplet else ""
    what = "rest" if head.is_rest else "note"
    name = f"{'dotted ' * head.dots}{head.type} {what}{ratio}"
    return f"{'an' if name.startswith('e') else 'a'} {name}"
