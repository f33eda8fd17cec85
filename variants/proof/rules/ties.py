"""Ties: their two ends, their pitch, their picture, and tab that strikes what is held."""

from __future__ import annotations

from variants.proof.finding import Severity, at_head
from variants.proof.page import Head, PagePart, parts
from variants.proof.registry import Flaws, rule
from variants.proof.views.doubling import Doubling, doublings
from variants.proof.views.ties import ends, tie_report

# From so many ties without an end on, when most have none, it is a habit and no slip.
LEAST = 4
# Moment and staff.
_Place = tuple[int, int]


@rule("tie-open", Severity.ERROR, parts)
def tie_open(part: PagePart) -> Flaws:
    """A tie has no other end.

    Those that may mean "let ring" are warnings.
    """
    report = tie_report(part)
    if len(report.starts) > max(report.matched, LEAST):
        # Some programs write only where ties begin.
        yield at_head(
            report.starts[0], f"{len(report.starts)} ties of the part have no end, as if the "
            "program that wrote it never marked them", expected="both ends of every tie",
            severity=Severity.WARNING,
        )  # fmt: skip
    else:
        yield from _ties_without_end(part, report.starts)
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


def _ties_without_end(part: PagePart, starts: list[Head]) -> Flaws:
    begun = set[_Place]()
    heights = set[tuple[_Place, str]]()
    for head in part.heads if starts else ():
        if head.pitch is not None and not head.is_grace:
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


@rule("tie-pitch", Severity.ERROR, parts)
def tie_pitch(part: PagePart) -> Flaws:
    """A tie joins two pitches."""
    for start, stop in tie_report(part).changed:
        yield at_head(
            stop, f"the tie from {start.pitch} ends on {stop.pitch}",
            expected=f"{start.pitch}, or a slur",
        )  # fmt: skip


@rule("tie-picture", Severity.WARNING, parts)
def tie_picture(part: PagePart) -> Flaws:
    """A tie sounds and is not drawn, or is drawn and silent.

    Only in parts that write both elsewhere.
    """
    tied = [h for h in part.heads if h.tie_start or h.tied_start or h.tie_stop or h.tied_stop]
    odd = [h for h in tied if h.tie_start != h.tied_start or h.tie_stop != h.tied_stop]
    for head in odd if 2 * len(odd) < len(tied) else ():
        only = "heard" if head.tie_start or head.tie_stop else "seen"
        yield at_head(
            head, f"{head.pitch} has a tie that is only {only}", expected="both <tie> and <tied>"
        )


@rule("tie-restruck", Severity.ERROR, doublings)
def tie_restruck(pair: Doubling) -> Flaws:
    """A note is held in the notation and struck in the tab."""
    for above, below in pair.pairs:
        if ends(above) != ends(below):
            held, struck = ("notation", "tab") if ends(above) else ("tab", "notation")
            holder, other = (above, below) if ends(above) else (below, above)
            yield at_head(
                other, f"the {held} holds {holder.pitch} here and the {struck} strikes it again",
                expected=f"a tie in the {struck} too",
            )  # fmt: skip
