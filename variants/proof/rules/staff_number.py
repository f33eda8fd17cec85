"""Notes, clefs and tunings on a staff that the part does not have."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar, at_head, at_part
from variants.proof.page import Page, PagePart
from variants.proof.registry import rule


@rule("staff-number", Severity.ERROR, "a staff that the part does not have: staff 5 of 2")
def check(page: Page) -> Iterator[Flaw]:
    """Yield what stands on a staff that does not exist; the first of each staff."""
    for part in page.parts:
        most = max((count for _, count in part.staves), default=1)
        yield from _notes(part, most)
        for clef in part.clefs:
            if not 1 <= clef.staff <= most:
                yield at_bar(
                    clef.bar, f"a clef is for staff {clef.staff} of {most}", element=clef.element
                )
        for strings in part.strings:
            if not 1 <= strings.staff <= most:
                yield at_part(
                    part, f"a tuning is for staff {strings.staff} of {most}",
                    element=strings.element,
                )  # fmt: skip


def _notes(part: PagePart, most: int) -> Iterator[Flaw]:
    seen: set[tuple[int, int]] = set()
    for head in part.heads:
        key = (head.bar.index, head.staff)
        if not 1 <= head.staff <= most and key not in seen:
            seen.add(key)
            yield at_head(
                head, f"a note stands on staff {head.staff}, and the part has {_count(most)}",
                expected="staff 1" if most == 1 else f"staff 1 to {most}",
            )  # fmt: skip


def _count(most: int) -> str:
    return "1 staff" if most == 1 else f"{most} staves"
