"""Notes of one voice that overlap."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Bar, Head, Page
from variants.proof.registry import rule


@rule("voice-overlap", Severity.ERROR, "two notes of one voice overlap")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the first note in each measure that begins before its voice is free.

    Some programs number the voices of each staff from 1, so a voice is one voice on one staff.
    """
    for bar in page.bars():
        seen: set[tuple[str, int]] = set()
        for before, head in _neighbours(bar):
            lane = (head.voice, head.staff)
            if head.onset < before.onset + before.duration and lane not in seen:
                seen.add(lane)
                yield at_head(
                    head, f"voice {head.voice} begins here before its {_what(before)} is over",
                    expected="another voice, or other durations",
                )  # fmt: skip


def _neighbours(bar: Bar) -> Iterator[tuple[Head, Head]]:
    last: dict[tuple[str, int], Head] = {}
    heads = [h for h in bar.heads if not (h.is_chord or h.is_grace or h.is_cue)]
    if any(a.onset > b.onset for a, b in pairwise(heads)):
        heads.sort(key=lambda head: head.onset)
    for head in heads:
        lane = (head.voice, head.staff)
        before = last.get(lane)
        if before is not None:
            yield before, head
        last[lane] = head


def _what(head: Head) -> str:
    return "rest" if head.is_rest else str(head.pitch or "note")
