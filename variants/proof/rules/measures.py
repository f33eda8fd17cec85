"""Measures and note values: sums, numbers, voices that overlap or leave gaps, tuplets."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from variants.music.duration import QUARTERS_OF_TYPE
from variants.proof.finding import Severity, at_bar, at_head, at_part
from variants.proof.page import Head, PageBar, PagePart, ScannedPage, bars, pages, parts
from variants.proof.registry import Flaws, rule
from variants.proof.views.values import Exempt, exemption, is_rounded, is_rounding, unfilled

# A voice that fills so many of its measures is meant to fill them all.
USUALLY = 0.75
LEAST_MEASURES = 4
_NUMBER = re.compile(r"(\d{1,9})([a-z]?)\Z")


@rule("measure-sum", Severity.ERROR, pages)
def measure_sum(page: ScannedPage) -> Flaws:
    """A measure is longer or shorter than its metre.

    Pick-ups, measures split by a repeat or a double bar, and senza misura are exempt. Where every
    part of a larger score has the same odd length, the metre is what is missing: a warning.
    """
    for bar in page.bars():
        if not bar.full or not bar.reach or bar.reach == bar.full or is_rounding(bar):
            continue
        reason = exemption(page, bar)
        if reason is Exempt.FULLY:
            continue
        have, want = Fraction(bar.reach, page.ticks), Fraction(bar.full, page.ticks)
        longer = "longer" if have > want else "shorter"
        first = bar.index == 0 and have < want
        yield at_bar(
            bar,
            f"the measure lasts {_lasting(have)} and is {longer} than its metre, {bar.metre}"
            + (", and is not marked as a pick-up" if first else ""),
            onset=-1 if first else min(bar.reach, bar.full),
            expected=_lasting(want),
            severity={Exempt.HINT: Severity.HINT, Exempt.WARNING: Severity.WARNING}.get(reason),
        )


def _lasting(quarters: Fraction) -> str:
    number = str(quarters) if quarters.denominator != 2 else f"{float(quarters):g}"
    return f"{number} quarter{'' if quarters == 1 else 's'}"


@rule("measure-count", Severity.ERROR, pages)
def measure_count(page: ScannedPage) -> Flaws:
    """The parts have different numbers of measures."""
    longest = max(page.parts, key=lambda part: len(part.bars), default=None)
    for part in page.parts if longest else ():
        most = len(longest.bars) if longest else 0
        missing = most - len(part.bars)
        if missing and longest:
            message = (
                f"the part has {len(part.bars)} measures, part {longest.id} has {missing} more"
            )
            expected = f"{most} measures"
            if part.bars:
                yield at_bar(part.bars[-1], message, expected=expected)
            else:
                yield at_part(part, message, expected=expected)


@rule("measure-numbers", Severity.WARNING, pages)
def measure_numbers(page: ScannedPage) -> Flaws:
    """Measure numbers skip or repeat.

    Measures that are not counted, and numbers with letters, may repeat; 1 may begin anew; a
    measure may begin with any number in the first part, as an excerpt does.
    """
    seen: set[tuple[int, str]] = set()
    for part in page.parts:
        before: int | None = None
        for bar in part.bars:
            found = _NUMBER.match(bar.number)
            if bar.is_implicit or found is None or found.group(2):
                continue
            number = int(found.group(1))
            flawed = before is not None and number != before + 1 and number != 1
            if flawed and (bar.index, bar.number) not in seen:
                seen.add((bar.index, bar.number))
                yield at_bar(
                    bar, f"measure {number} follows measure {before}",
                    expected=f"measure {(before or 0) + 1}",
                )  # fmt: skip
            before = number


@rule("voice-gap", Severity.WARNING, parts)
def voice_gap(part: PagePart) -> Flaws:
    """A voice that fills every other measure leaves a gap."""
    gaps: dict[str, list[tuple[PageBar, int]]] = {}
    measures: dict[str, int] = {}
    for bar in part.bars:
        lanes: dict[str, list[tuple[int, int]]] = {}
        for head in bar.heads:
            if not (head.is_chord or head.is_grace):
                lanes.setdefault(head.voice, []).append((head.onset, head.onset + head.duration))
        for voice, spans in lanes.items():
            measures[voice] = measures.get(voice, 0) + 1
            onset = _first_gap(spans, bar.length)
            if onset is not None and bar.length - onset >= bar.division:
                gaps.setdefault(voice, []).append((bar, onset))
    for voice, found in gaps.items():
        count = measures[voice]
        if count >= LEAST_MEASURES and len(found) <= (1 - USUALLY) * count:
            for bar, onset in found:
                yield at_bar(bar, f"voice {voice} leaves a gap in the measure", onset=onset,
                             expected="notes or rests", voice=voice)  # fmt: skip


def _first_gap(spans: list[tuple[int, int]], length: int) -> int | None:
    clock = 0
    for start, end in sorted(spans):
        if start > clock:
            return clock
        clock = max(clock, end)
    return clock if clock < length else None


@rule("voice-overlap", Severity.ERROR, bars)
def voice_overlap(bar: PageBar) -> Flaws:
    """Two notes of one voice overlap.

    Some programs number the voices of each staff from 1, so a voice is one voice on one staff.
    """
    seen: set[tuple[str, int]] = set()
    for before, head in _voice_neighbours(bar):
        lane = (head.voice, head.staff)
        if head.onset < before.onset + before.duration and lane not in seen:
            seen.add(lane)
            what = "rest" if before.is_rest else str(before.pitch or "note")
            yield at_head(
                head, f"voice {head.voice} begins here before its {what} is over",
                expected="another voice, or other durations",
            )  # fmt: skip


def _voice_neighbours(bar: PageBar) -> Iterator[tuple[Head, Head]]:
    last: dict[tuple[str, int], Head] = {}
    heads = [h for h in bar.heads if not (h.is_chord or h.is_grace or h.is_cue)]
    if any(a.onset > b.onset for a, b in pairwise(heads)):
        heads.sort(key=lambda head: head.onset)
    for head in heads:
        lane = (head.voice, head.staff)
        before = last.get(lane)
        if before is not None:
            yield before, head
        last[lane] = head


@rule("note-value", Severity.ERROR, pages)
def note_value(page: ScannedPage) -> Flaws:
    """A note lasts longer or shorter than it is printed.

    By more than rounding explains.
    """
    ticks = page.ticks
    for part in page.parts:
        for head in part.heads:
            if not head.has_duration or not head.type or head.is_cue:
                continue
            wanted = _ticks_of(head.type, head.dots, (head.actual, head.normal), ticks)
            if wanted is None or wanted == head.duration or is_rounded(head, wanted):
                continue
            # A whole rest stands for a measure of any length.
            if head.is_rest and (head.is_measure_rest or head.type in {"whole", "breve"}):
                continue
            yield at_head(
                head,
                f"{_printed_value(head)} lasts {Fraction(head.duration, ticks)} quarters",
                expected=f"a duration of {Fraction(wanted) / ticks} quarters",
            )


@lru_cache(maxsize=4096)
def _ticks_of(kind: str, dots: int, ratio: tuple[int, int], ticks: int) -> int | Fraction | None:
    base = QUARTERS_OF_TYPE.get(kind)
    if base is None or dots > 8:
        return None
    exact = base * (2 - Fraction(1, 2**dots)) * ratio[1] * ticks / ratio[0]
    return int(exact) if exact.denominator == 1 else exact


def _printed_value(head: Head) -> str:
    ratio = f" in a {head.actual}:{head.normal} tuplet" if head.is_tuplet else ""
    what = "rest" if head.is_rest else "note"
    name = f"{'dotted ' * head.dots}{head.type} {what}{ratio}"
    return f"{'an' if name.startswith('e') else 'a'} {name}"


@rule("tuplet-fill", Severity.ERROR, unfilled)
def tuplet_fill(run: list[Head]) -> Flaws:
    """The notes of a tuplet do not fill it."""
    first = run[0]
    yield at_head(
        first, f"the {len(run)} notes and rests of the {first.actual}:{first.normal} tuplet "
        "do not fill it", expected=f"{first.actual} notes in the time of {first.normal}",
    )  # fmt: skip
