"""What the fretting hand holds at each moment: strings, frets, and fingers from either staff."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from variants.proof.page import Head, PageBar, PagePart, ScannedPage, view
from variants.proof.views.doubling import Moment, by_moment, partners
from variants.proof.views.strings import StrungNeck, instrument_of

FINGERS = frozenset({"1", "2", "3", "4"})


@dataclass(frozen=True, slots=True)
class Stop:
    """One string in a grip; ``finger`` is empty where none is printed."""

    head: Head
    string: int
    fret: int
    finger: str


@dataclass(frozen=True, slots=True)
class PageGrip:
    """The strings that are played at one moment of a staff."""

    bar: PageBar
    onset: int
    stops: tuple[Stop, ...]
    instrument: StrungNeck | None

    @property
    def moment(self) -> int:
        """Ticks from the start of the part."""
        return self.bar.start + self.onset

    @property
    def frets(self) -> list[int]:
        """The frets that fingers stop."""
        return [stop.fret for stop in self.stops if stop.fret > 0]


@view
def grips(page: ScannedPage) -> list[PageGrip]:
    """Return the grips of every staff with places, in order of time within a staff."""
    return [
        grip
        for part in page.parts
        if part.placed
        for staff in sorted({head.staff for head in part.placed})
        for grip in _grips_of_staff(page, part, staff)
    ]


def _grips_of_staff(page: ScannedPage, part: PagePart, staff: int) -> list[PageGrip]:
    other = partners(page)
    table = by_moment(part, staff)
    found = []
    # Grace notes come before their main note: the further away, the higher their rank.
    for moment in sorted(table, key=_grace_order):
        stops = tuple(
            Stop(head, head.string, head.fret, head.finger or _finger_of(other.get(head)))
            for head in table[moment]
            if head.string > 0 and head.fret >= 0
        )
        if stops:
            first = stops[0].head
            found.append(PageGrip(first.bar, first.onset, stops, instrument_of(first)))
    return found


def stops(page: ScannedPage) -> Iterator[Stop]:
    """Yield every string of every grip."""
    return (stop for grip in grips(page) for stop in grip.stops)


def _grace_order(moment: Moment) -> tuple[int, int, int]:
    index, onset, grace = moment
    return index, onset, grace or 10**6


def _finger_of(head: Head | None) -> str:
    return head.finger if head is not None else ""
