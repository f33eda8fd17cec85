"""Ties without their other end."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page, PagePart
from variants.proof.registry import rule
from variants.proof.views.ties import tie_report

# From so many ties without an end on, when most have none, it is a habit and no slip.
LEAST = 4
# Moment and staff.
_Place = tuple[int, int]


@rule("tie-open", Severity.ERROR, "a tie has no other end")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the ties that hang loose; those that may mean "let ring" are warnings."""
    for part in page.parts:
        report = tie_report(page, part)
        if len(report.starts) > max(report.matched, LEAST):
            # Some programs write only where ties begin.
            yield at_head(
                report.starts[0], f"{len(report.starts)} ties of the part have no end, as if the "
                "program that wrote it never marked them", expected="both ends of every tie",
                severity=Severity.WARNING,
            )  # fmt: skip
            report.starts.clear()
        yield from _without_end(part, report.starts)
        for head in report.over_jumps:
            yield at_head(
                head, f"the tie of {head.pitch} has its other end over a repeat or an ending, or "
                "nowhere", expected="a tied note of the same pitch there", severity=Severity.HINT,
            )  # fmt: skip
        for head in report.stops:
            yield at_head(
                head, f"the tie to {head.pitch} begins nowhere",
                expected="a tied note of the same pitch before it, or no tie",
            )  # fmt: skip


def _without_end(part: PagePart, starts: list[Head]) -> Iterator[Flaw]:
    begun = set[_Place]()
    heights = set[tuple[_Place, str]]()
    for head in _sounding(part) if starts else ():
        begun.add((head.moment, head.staff))
        heights.add(((head.moment, head.staff), str(head.pitch)))
    for head in starts:
        if head.let_ring:
            continue
        after = head.end, head.staff
        same = (after, str(head.pitch)) in heights
        message = f"the tie from {head.pitch} leads to no note of that pitch"
        if same:
            message = (
                f"the tie from {head.pitch} has no end: the {head.pitch} that follows does not "
                "say that it is tied"
            )
        yield at_head(
            head, message,
            expected="the end of the tie there, or no tie" if same
            else "a tied note of the same pitch, or no tie",
            severity=None if after in begun else Severity.WARNING,
        )  # fmt: skip


def _sounding(part: PagePart) -> Iterator[Head]:
    return (head for head in part.heads if head.pitch is not None and not head.is_grace)
