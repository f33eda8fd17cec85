"""The same score with another number of ticks in a quarter."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from math import gcd

from variants.errors import UsageError
from variants.score.model import Event, Measure, Part, Score, Voice
from variants.score.signs import Attributes, Barline, Carried, Direction, Harmony

# The only children of carried elements that count divisions.
_TIMES = re.compile(r"(<(duration|offset)\b[^>]*>)\s*(-?[0-9.]+)\s*(</\2>)")


def rescaled(score: Score, ticks: int) -> Score:
    """Return the score with another number of ticks in a quarter; nothing sounds different.

    Durations inside carried XML (figured bass, offsets) are counted anew too.

    Raises:
        UsageError: Some moment of the score does not fall on a whole tick of the new count.
    """
    if ticks == score.ticks:
        return score
    if ticks <= 0:
        raise UsageError(f"{ticks} ticks in a quarter", way_out="give a whole number above 0")
    factor = Fraction(ticks, score.ticks)
    parts = tuple(_part(part, factor) for part in score.parts)
    return replace(score, ticks=ticks, parts=parts)


def coarsest(score: Score, *, multiple_of: int = 1) -> Score:
    """Return the score with the fewest ticks that hold it and are a multiple of a number."""
    shared = score.ticks
    for time in _times(score):
        shared = gcd(shared, time)
        if shared == 1:
            break
    ticks = score.ticks
    for divisor in range(shared, 1, -1):
        if shared % divisor == 0 and (ticks // divisor) % multiple_of == 0:
            return rescaled(score, ticks // divisor)
    return score


def _times(score: Score) -> Iterator[int]:
    for part in score.parts:
        for measure in part.measures:
            yield measure.length
            for event in measure.events:
                yield event.onset
                yield event.duration
            for group in (
                measure.attributes,
                measure.barlines,
                measure.harmonies,
                measure.directions,
                measure.carried,
            ):
                yield from (one.onset for one in group)
            yield from _carried_times(measure)


def _carried_times(measure: Measure) -> Iterator[int]:
    texts = [one.xml for one in measure.carried] + [one.sound for one in measure.directions]
    for text in texts + [one.xml for one in measure.harmonies]:
        for found in _TIMES.finditer(text) if text else ():
            number = Fraction(found.group(3))
            # A time that is no whole tick forbids every coarser count.
            yield int(number) if number.denominator == 1 else 1


def _whole(time: int, factor: Fraction) -> int:
    exact = time * factor
    if exact.denominator != 1:
        raise UsageError(
            f"{time} ticks times {factor} is no whole number", way_out="give more ticks"
        )
    return int(exact)


def _text(xml: str, factor: Fraction) -> str:
    def counted(found: re.Match[str]) -> str:
        exact = Fraction(found.group(3)) * factor
        number = str(exact) if exact.denominator == 1 else f"{float(exact):g}"
        return f"{found.group(1)}{number}{found.group(4)}"

    return _TIMES.sub(counted, xml) if xml else xml


def _part(part: Part, factor: Fraction) -> Part:
    return replace(part, measures=tuple(_measure(measure, factor) for measure in part.measures))


def _measure(measure: Measure, factor: Fraction) -> Measure:
    def at(onset: int) -> int:
        return _whole(onset, factor)

    def event(one: Event) -> Event:
        return replace(one, onset=at(one.onset), duration=at(one.duration))

    def attributes(one: Attributes) -> Attributes:
        return replace(one, onset=at(one.onset)) if one.onset else one

    def barline(one: Barline) -> Barline:
        return replace(one, onset=at(one.onset)) if one.onset else one

    def harmony(one: Harmony) -> Harmony:
        return replace(one, onset=at(one.onset), xml=_text(one.xml, factor))

    def direction(one: Direction) -> Direction:
        return replace(one, onset=at(one.onset), sound=_text(one.sound, factor))

    def carried(one: Carried) -> Carried:
        return replace(one, onset=at(one.onset), xml=_text(one.xml, factor))

    return replace(
        measure,
        length=at(measure.length),
        voices=tuple(Voice(one.id, tuple(map(event, one.events))) for one in measure.voices),
        attributes=tuple(map(attributes, measure.attributes)),
        barlines=tuple(map(barline, measure.barlines)),
        harmonies=tuple(map(harmony, measure.harmonies)),
        directions=tuple(map(direction, measure.directions)),
        carried=tuple(map(carried, measure.carried)),
    )
