"""Changes of place that no hand makes in the time."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from variants.guitar.neck import SCALE_LENGTHS_MM, span_mm
from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.grips import Grip, grips
from variants.proof.views.tempo import tempi

# From memory, unvalidated: a hand that goes the length of the neck in a fifth of a second moves
# about as fast as one can with aim. Slower changes may be hard; they are not impossible.
FASTEST_MM_S = 2000.0
# A hand in one place reaches frets this far apart without moving.
REACH_FRETS = 5


@rule(
    "unreachable-change", Severity.WARNING, "the hand cannot get from one place to the next in time"
)
def check(page: Page) -> Iterator[Flaw]:
    """Yield the grips that the hand would have to fly to."""
    before: Grip | None = None
    for grip in grips(page):
        stopped = [stop.fret for stop in grip.stops if stop.fret > 0]
        if not stopped or all(stop.head.is_grace for stop in grip.stops):
            continue
        same = before is not None and before.bar.part is grip.bar.part
        if before is not None and same and before.stops[0].head.staff == grip.stops[0].head.staff:
            yield from _change(page, before, grip)
        before = grip


def _change(page: Page, before: Grip, grip: Grip) -> Iterator[Flaw]:
    was = [stop.fret for stop in before.stops if stop.fret > 0]
    now = [stop.fret for stop in grip.stops if stop.fret > 0]
    if max(*was, *now) - min(*was, *now) <= REACH_FRETS or grip.moment <= before.moment:
        return
    start, end = (max(was), min(now)) if min(now) > max(was) else (min(was), max(now))
    distance = span_mm(start, end, scale_length_mm=SCALE_LENGTHS_MM["full"])
    quarters = Fraction(grip.moment - before.moment, page.ticks)
    seconds = float(quarters) * 60.0 / tempi(page).at(before)
    if distance > FASTEST_MM_S * seconds:
        yield at_head(
            grip.stops[0].head,
            f"the hand must go from fret {start} to fret {end}, {distance:.0f} mm, in "
            f"{seconds:.2f} s",
            expected="the same notes nearer to each other, or a slower tempo",
        )
