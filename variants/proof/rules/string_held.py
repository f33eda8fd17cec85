"""Notes struck on a string that another voice still holds."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.grips import grips


@rule("string-held", Severity.WARNING, "a note cuts off another that is still held on its string")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that begin on a string before another voice leaves it."""
    busy: dict[tuple[int, int, int], Head] = {}
    for grip in grips(page):
        for stop in grip.stops:
            head = stop.head
            if head.is_grace:
                continue
            key = (id(head.bar.part), head.staff, stop.string)
            before = busy.get(key)
            if before is not None and before.moment < head.moment < before.end:
                yield at_head(
                    head,
                    f"string {stop.string} still holds the {before.pitch} of voice {before.voice}",
                    expected="a shorter note before it, or another string",
                )
            if before is None or before.end <= head.end or before.moment < head.moment:
                busy[key] = head
