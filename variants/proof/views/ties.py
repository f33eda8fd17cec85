"""Ties with their ends: which fit, which change pitch, which hang loose."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from variants.proof.page import Head, PagePart, view
from variants.proof.views.doubling import sound_of
from variants.proof.views.jumps import is_entered, is_left

# A tie from an arpeggio to the chord that gathers it skips the notes between.
_FAR_MEASURES = 1


@dataclass(slots=True)
class TieReport:
    """The ties of one part that do not fit.

    Args:
        starts: Notes whose tie ends nowhere.
        stops: Notes whose tie begins nowhere.
        changed: Pairs of notes, tied and of different pitch.
        matched: How many ties have both ends.
        over_jumps: Notes whose tie runs over a repeat or into an ending, where it may.
    """

    starts: list[Head] = field(default_factory=list)
    stops: list[Head] = field(default_factory=list)
    changed: list[tuple[Head, Head]] = field(default_factory=list)
    matched: int = 0
    over_jumps: list[Head] = field(default_factory=list)


def begins(head: Head) -> bool:
    """Whether a tie begins at a note, by sound or by picture."""
    return head.tie_start or head.tied_start


def ends(head: Head) -> bool:
    """Whether a tie ends at a note, by sound or by picture."""
    return head.tie_stop or head.tied_stop


def unmarked_ends(part: PagePart) -> frozenset[tuple[int, int, int | Fraction]]:
    """Return moment, staff and height of the notes that a tie leads to and that do not say so."""
    return frozenset(
        (head.end, head.staff, sound_of(head))
        for head in tie_report(part).starts
        if not head.let_ring
    )


@view
def tie_report(part: PagePart) -> TieReport:
    """Return the report of one part."""
    tied = [
        head
        for head in part.heads
        if head.pitch is not None
        and not head.is_cue
        and (head.tie_start or head.tie_stop or head.tied_start or head.tied_stop)
    ]
    if not tied:
        return TieReport()
    tied.sort(key=lambda head: (head.moment, not head.is_grace))
    waiting: dict[int | Fraction, list[Head]] = {}
    stops: list[Head] = []
    matched = 0
    for head in tied:
        height = sound_of(head)
        if ends(head):
            start = _start_of(head, waiting.get(height, []))
            if start is None:
                stops.append(head)
            else:
                waiting[height].remove(start)
                matched += 1
        if begins(head):
            waiting.setdefault(height, []).append(head)
    starts = [head for left in waiting.values() for head in left]
    report = _sorted_out(starts, stops)
    report.matched = matched
    return report


def _start_of(head: Head, waiting: list[Head]) -> Head | None:
    exact = [one for one in waiting if one.end == head.moment]
    if exact:
        same = [one for one in exact if one.voice == head.voice and one.staff == head.staff]
        return (same or exact)[-1]
    near = [
        one
        for one in waiting
        if one.end <= head.moment and head.bar.index - one.bar.index <= _FAR_MEASURES
    ]
    return near[-1] if near else None


def _sorted_out(starts: list[Head], stops: list[Head]) -> TieReport:
    report = TieReport()
    for stop in stops:
        near = [
            one for one in starts if one.end == stop.moment and one.staff == stop.staff
            and one.voice == stop.voice
        ]  # fmt: skip
        if near:
            start = min(near, key=lambda one: abs(float(sound_of(one) - sound_of(stop))))
            starts.remove(start)
            report.changed.append((start, stop))
        elif stop.onset == 0 and is_entered(stop.bar):
            report.over_jumps.append(stop)
        else:
            report.stops.append(stop)
    for start in starts:
        over = start.onset + start.duration >= start.bar.reach
        jumps = over and is_left(start.bar)
        (report.over_jumps if jumps else report.starts).append(start)
    return report
