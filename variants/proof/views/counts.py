"""Counting lines: lyrics named ``counting``, whose syllables name the beats of their notes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lxml import etree

from variants.marks.pulse import Pulse, counted_pulses, pulse_at
from variants.marks.syllables import SYSTEMS, System
from variants.proof.page import Bar, Head, Page, PagePart

NAME = "counting"


@dataclass(frozen=True, slots=True)
class Counted:
    """A note with the first syllable under it and the one that belongs there."""

    head: Head
    lyric: etree._Element
    text: str
    expected: str


def counted_lines(page: Page) -> Iterator[Counted]:
    """Yield every counted note, by the system of syllables that its part mostly follows."""
    for part in page.parts:
        counted = [
            (head, lyric, text)
            for head in part.heads
            if head.lyrics
            for lyric in head.lyrics
            if lyric.get("name") == NAME and (text := _first(lyric))
        ]
        if counted:
            best = max(
                (_read(part, counted, system, each=each)
                 for system in SYSTEMS.values() for each in (False, True)),
                key=lambda read: sum(one.text == one.expected for one in read),
            )  # fmt: skip
            yield from best


def _first(lyric: etree._Element) -> str:
    words = "".join(one.text or "" for one in lyric.iter("text")).split()
    return words[0].strip("[]()") if words else ""


def _read(
    part: PagePart, counted: list[tuple[Head, etree._Element, str]], system: System, *, each: bool
) -> list[Counted]:
    found = []
    for head, lyric, text in counted:
        place = _place(head.bar, head.onset, each=each)
        if place is None:
            continue
        pulse, fraction = place
        among = _among(part, head.bar, pulse, each=each)
        found.append(Counted(head, lyric, text, system.syllable(pulse, fraction, among)))
    return found


def _place(bar: Bar, onset: int, *, each: bool) -> tuple[Pulse, Fraction] | None:
    if bar.metre is None or not bar.full:
        return None
    ticks = bar.full / bar.metre.quarters
    quarters = Fraction(onset + bar.lead) / ticks
    pulse = pulse_at(counted_pulses(bar.metre, each=each), quarters)
    return pulse, (quarters - pulse.start) / pulse.length


def _among(part: PagePart, bar: Bar, pulse: Pulse, *, each: bool) -> set[Fraction]:
    places = set()
    for head in bar.heads:
        found = _place(bar, head.onset, each=each)
        if found is not None and found[0].number == pulse.number and head.staff in _staves(part):
            places.add(found[1])
    return places


def _staves(part: PagePart) -> frozenset[int]:
    return part.used_staves - part.tab_staves or part.used_staves
