"""When a note is counted, worked out from a MusicXML file alone: no code of the package is used.

Sources: the elements of MusicXML 4.0 (W3C) for time; for the counting, common practice: beats of a
compound metre are three short notes long, uneven groups are 3+2 and 2+2+3, a pick-up ends its
measure (nathanmuehl.com, ob1.21), a measure that a repeat splits goes on counting.
"""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise


@dataclass(frozen=True)
class Counted:
    """A moment at which a note or rest begins.

    Args:
        measure: Index of the measure, from 0.
        onset: Quarters from its start.
        beat: Number of the beat.
        into: How far into the beat, 0 to less than 1.
        threes: Whether the beat divides in three.
    """

    measure: int
    onset: Fraction
    beat: int
    into: Fraction
    threes: bool

    @property
    def name(self) -> str:
        """The beat in words: ``2``, ``2.5``, ``3 1/3``; in a compound beat ``2 & ta``."""
        if not self.into:
            return f"{self.beat}"
        sixths = self.into * 6
        if self.threes and sixths.denominator == 1:
            eighth, more = divmod(int(sixths), 2)
            words = [f"{self.beat}", ["", "&", "a"][eighth], "ta" if more else ""]
            return " ".join(word for word in words if word)
        if self.into.denominator in {2, 4, 8}:
            return str(float(self.beat + self.into)).rstrip("0")
        return f"{self.beat} {self.into.numerator}/{self.into.denominator}"


@dataclass
class _Bar:
    signature: tuple[tuple[str, int], ...]
    implicit: bool
    length: Fraction
    onsets: list[Fraction]
    first: Fraction = Fraction(0)

    @property
    def full(self) -> Fraction:
        return sum((Fraction(4 * sum(map(int, over.split("+"))), under)
                    for over, under in self.signature), Fraction(0))  # fmt: skip

    @property
    def is_short(self) -> bool:
        return 0 < self.length < self.full


def counted_time(data: bytes, part: int = 0) -> tuple[Fraction, list[Counted]]:
    """Return what is missing before the first measure, in quarters, and every moment of a part."""
    bars = _bars(ET.fromstring(data).findall("part")[part])
    for bar, place in zip(bars, _places(bars), strict=True):
        bar.first = place
    return bars[0].first, [
        _counted(index, onset, bar) for index, bar in enumerate(bars) for onset in bar.onsets
    ]


def _bars(part: ET.Element) -> list[_Bar]:
    divisions = Fraction(1)
    signature: tuple[tuple[str, int], ...] = (("4", 4),)
    found = []
    for element in part.findall("measure"):
        now = reach = Fraction(0)
        onsets: list[Fraction] = []
        first = signature
        for child in element:
            if child.tag == "attributes":
                divisions = Fraction(child.findtext("divisions") or divisions)
                time = child.find("time")
                if time is not None:
                    signature = tuple(
                        (over.text or "", int(under.text or ""))
                        for over, under in zip(
                            time.findall("beats"), time.findall("beat-type"), strict=True
                        )
                    )
                    first = signature if now == 0 else first
                continue
            length = Fraction(child.findtext("duration") or 0) / divisions
            if child.tag == "backup":
                now -= length
            elif child.tag == "forward":
                now += length
            elif child.tag == "note" and child.find("chord") is None:
                if child.find("grace") is None and child.find("cue") is None:
                    onsets.append(now)
                now += length
            reach = max(reach, now)
        bar = _Bar(first, element.get("implicit") == "yes", reach, onsets)
        bar.length = bar.length or bar.full
        found.append(bar)
    return found


def _places(bars: list[_Bar]) -> list[Fraction]:
    """Return where in its metre each measure begins."""
    found: list[Fraction] = []
    for index, bar in enumerate(bars):
        before = bars[index - 1] if index else None
        came = found[-1] + before.length if before else Fraction(0)
        is_open = before is not None and 0 < came < before.full
        lone = len(bars) == 1
        if not bar.is_short or ((index or lone) and not bar.implicit):
            found.append(Fraction(0))
        elif bar.implicit and is_open and came + bar.length <= bar.full:
            found.append(came)
        elif index and (index == len(bars) - 1 or _halves(bar, bars[index + 1])):
            found.append(Fraction(0))
        else:
            found.append(bar.full - bar.length)
    return found


def _halves(one: _Bar, two: _Bar) -> bool:
    return two.implicit and one.length + two.length <= one.full


def _counted(index: int, onset: Fraction, bar: _Bar) -> Counted:
    borders = _borders(bar.signature)
    at = bar.first + onset
    while at >= borders[-1]:
        borders.append(2 * borders[-1] - borders[-2])
    beat, (low, high) = next(
        (number, span) for number, span in enumerate(pairwise(borders), 1) if span[1] > at
    )
    threes = _in_threes(bar.signature, high - low)
    return Counted(index, onset, beat, (at - low) / (high - low), threes)


def _in_threes(signature: tuple[tuple[str, int], ...], length: Fraction) -> bool:
    return any(under >= 8 and length * under == 12 for _, under in signature)


def _borders(signature: tuple[tuple[str, int], ...]) -> list[Fraction]:
    numbers = [(int(one), under) for over, under in signature for one in over.split("+")]
    borders = [Fraction(0)]
    for number, under in numbers:
        sizes = [1] * number
        if under >= 8 and (len(numbers) > 1 or (number > 3 and (number % 3 == 0 or number % 2))):
            sizes = {5: [3, 2], 7: [2, 2, 3], 1: [1]}.get(number) or (
                [3] * (number // 3) if number % 3 == 0
                else [2] * (number // 2) if number % 2 == 0
                else [2] * (number // 2 - 1) + [3]
            )  # fmt: skip
        for size in sizes:
            borders.append(borders[-1] + Fraction(4 * size, under))
    return borders if len(borders) > 1 else [Fraction(0), Fraction(1)]
