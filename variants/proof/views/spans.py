"""Marks that run from note to note, and those of their ends that fit no other.

Files number spans by the note, by the voice or by the staff, so ends are matched by number and
voice first, then by number alone, then by voice alone; only what is left over is loose.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from lxml import etree

from variants.proof.page import Head, PageBar, PagePart, Span, view
from variants.proof.scan_note import whole

_OF_CHORDS = frozenset({"slur", "tuplet"})


@dataclass(frozen=True, slots=True)
class End:
    """One end of a span.

    Args:
        moment: Ticks from the start of the part.
        bar: Its measure.
        onset: Ticks from the start of the measure.
        number: Its number.
        lane: Voice and staff.
        is_start: Whether the span begins here.
        element: The element.
        head: The note, ``None`` for a direction.
    """

    moment: int
    bar: PageBar
    onset: int
    number: str
    lane: tuple[str, int]
    is_start: bool
    element: etree._Element
    head: Head | None = None


@view
def note_spans(part: PagePart) -> dict[str, list[End]]:
    """Return the ends of each family of marks of notes, in order of time."""
    tables: dict[str, list[End]] = {}
    # What some programs write on every note of a chord is one mark.
    seen: set[tuple[int, str, str, str, str]] = set()
    for head in part.heads:
        if head.spans:
            alone = _is_whole_tuplet(head)
            # One note may end a span and begin the next.
            for span in sorted(head.spans, key=_stops_first):
                if span.role in {"start", "stop"} and not (alone and span.family == "tuplet"):
                    key = (head.moment, head.voice, span.family, span.role, span.number)
                    if head.is_chord and span.family in _OF_CHORDS and key in seen:
                        continue
                    seen.add(key)
                    tables.setdefault(span.family, []).append(_span_end(head, span))
    for ends in tables.values():
        ends.sort(key=lambda end: end.moment)
    return tables


def _is_whole_tuplet(head: Head) -> bool:
    """Whether a note is a tuplet by itself, as a tremolo may be."""
    if len(head.spans) < 2:
        return False
    ends = {(span.role, span.number) for span in head.spans if span.family == "tuplet"}
    return any(("stop", number) in ends for role, number in ends if role == "start")


def _stops_first(span: Span) -> bool:
    return span.role == "start"


def _span_end(head: Head, span: Span) -> End:
    return End(
        head.moment, head.bar, head.onset, span.number, (head.voice, head.staff),
        span.role == "start", span.element, head,
    )  # fmt: skip


def matched(ends: Iterable[End]) -> tuple[list[tuple[End, End]], list[End]]:
    """Return the (start, stop) pairs and the loose ends in order of time."""
    pairs: list[tuple[End, End]] = []
    left = list(ends)
    for fits in _FITS:
        if not left:
            break
        left = _match_ends(left, fits, pairs)
    # A span of one note has both its ends there.
    alone = {id(one.head) for one in left if one.is_start} & {
        id(one.head) for one in left if not one.is_start and one.head is not None
    }
    return pairs, [one for one in left if id(one.head) not in alone]


def _match_ends(
    ends: list[End], fits: Callable[[End, End], bool], pairs: list[tuple[End, End]]
) -> list[End]:
    waiting: list[End] = []
    loose: list[End] = []
    for end in ends:
        if end.is_start:
            waiting.append(end)
            continue
        start = next((one for one in reversed(waiting) if fits(one, end)), None)
        if start is None:
            loose.append(end)
        else:
            waiting.remove(start)
            pairs.append((start, end))
    return sorted([*loose, *waiting], key=lambda end: end.moment)


_FITS: tuple[Callable[[End, End], bool], ...] = (
    lambda start, end: start.number == end.number and start.lane == end.lane,
    lambda start, end: start.number == end.number,
    lambda start, end: start.lane == end.lane,
    lambda _, __: True,
)


_BEGINS = {
    "wedge": frozenset({"crescendo", "diminuendo"}),
    "dashes": frozenset({"start"}),
    "bracket": frozenset({"start"}),
    "octave-shift": frozenset({"up", "down"}),
}


@view
def direction_spans(part: PagePart) -> dict[str, list[End]]:
    """Return the ends of each family of lines that directions begin and end, in order of time."""
    tables: dict[str, list[End]] = {}
    is_staved = len(part.used_staves) > 1
    for bar in part.bars:
        for direction in bar.directions:
            staff = (whole(direction.element.findtext("staff")) or 0) if is_staved else 0
            for kind in direction.element.findall("direction-type"):
                for line in kind:
                    family, role = str(line.tag), line.get("type", "")
                    if family not in _BEGINS or role == "continue":
                        continue
                    is_start = role in _BEGINS[family]
                    end = End(
                        bar.start + direction.onset, bar, direction.onset,
                        line.get("number", "1"), ("", staff), is_start, line,
                    )  # fmt: skip
                    tables.setdefault(family, []).append(end)
    for ends in tables.values():
        # At one moment a line ends before the next one begins.
        ends.sort(key=lambda end: (end.moment, end.is_start))
    return tables
