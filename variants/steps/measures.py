"""The step `measures`: a few measures of a piece, complete in themselves."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import ClassVar

from variants.contract import Promise
from variants.errors import Refusal, UsageError
from variants.score import Barline, Change, Direction, Measure, Part, Score, with_parts
from variants.score.playing import Signs, signs_in, signs_of
from variants.steps.cutting.arranging import arranged_part, check_measures
from variants.steps.framework.log import count, scribe
from variants.steps.framework.reading import written
from variants.steps.framework.registry import Checked, parameter, register

_NAME = "measures"
_RANGE = re.compile(r"\s*([^\s-]*)\s*(-?)\s*([^\s-]*)\s*\Z")
_SIGNS = frozenset({"segno", "coda"})
# The step has a field of that name.
_indices = range


def _read_range(text: str) -> str:
    found = _RANGE.match(text)
    if found is None or not (found.group(1) or found.group(3)):
        raise UsageError(
            f"{text!r} is no range of measures",
            way_out="give the printed numbers, as in 5-8, 5- (to the end), -8 or 5",
        )
    return f"{found.group(1)}{found.group(2)}{found.group(3)}"


@register(_NAME, examples=("measures", "measures:range=2-", "measures:range=1"))
@dataclass(frozen=True, slots=True, kw_only=True)
class Measures(Checked):
    """Keep a range of measures, with the key, metre, clef, tempo and chord that hold there.

    Measures keep their printed numbers. A note that is held into the range is struck at its
    start, one that is held out of it ends with it. Repeats and endings stay where all of them
    lies in the range; else, and where a jump would leave it, the signs go and the change log says
    so.
    """

    range: str = parameter(
        "1-4", "the printed numbers", written(_read_range, "5-8, 5- (to the end), -8, or 5")
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset(
        {Promise.SOUNDING_PITCHES, Promise.ONSETS, Promise.MEASURE_LENGTHS}
    )

    def order_for(self, score: Score) -> tuple[int, ...]:
        """Return the indices of the measures that stay.

        Raises:
            Refusal: There are no such measures, or the parts do not fit together.
        """
        length = check_measures(score)
        names = [measure.number for measure in score.parts[0].measures] if length else []
        found = _RANGE.match(self.range)
        start, dash, end = found.groups() if found else ("", "-", "")
        first = _first(names, start) if start else 0
        last = _last(names, end) if end else (length - 1 if dash else _last(names, start))
        if last < first:
            raise Refusal(
                f"measure {end or start} comes before measure {start}",
                way_out="give the lower number first",
            )
        return tuple(_indices(first, last + 1))

    def __call__(self, score: Score) -> Score:
        """Return the measures of the range.

        Raises:
            Refusal: There are no such measures, or the parts do not fit together.
        """
        order = self.order_for(score)
        done, changes = cut_measures(score, order, step=_NAME)
        return with_parts(done, done.parts, [Change(_headline(score, order), _NAME), *changes])


def cut_measures(score: Score, order: tuple[int, ...], *, step: str) -> tuple[Score, list[Change]]:
    """Return some neighbouring measures of a score, and the lines that say what the cut cost.

    Args:
        score: The score.
        order: Their indices.
        step: Name of the step, for the change log.
    """
    cut = _cut_signs(signs_of(score), order)
    parts: list[Part] = []
    changes: list[Change] = []
    for number, source in enumerate(score.parts):
        part, lines = arranged_part(scribe(step, score, source), order)
        part, gone = _without_signs(part, order, cut)
        parts.append(part)
        changes += lines
        if gone and not number:
            text = "repeat signs, endings or jumps that lead out of these measures left out"
            changes.append(Change(text, step))
    return with_parts(score, parts), changes


def _first(names: list[str], text: str) -> int:
    if text in names:
        return names.index(text)
    raise _no_measure(names, text)


def _last(names: list[str], text: str) -> int:
    if text in names:
        return len(names) - 1 - names[::-1].index(text)
    numbers = [int(name) for name in names if name.isdecimal()]
    if text.isdecimal() and numbers and int(text) > max(numbers):
        return len(names) - 1  # the piece is shorter than what was asked for
    raise _no_measure(names, text)


def _no_measure(names: list[str], text: str) -> Refusal:
    if not names:
        return Refusal("the score has no measures", way_out="give another score")
    return Refusal(
        f"there is no measure {text}", way_out=f"the numbers go from {names[0]} to {names[-1]}"
    )


def _headline(score: Score, order: tuple[int, ...]) -> str:
    measures = score.parts[0].measures
    first, last = measures[order[0]].number, measures[order[-1]].number
    if len(order) == len(measures):
        return "all measures are in the range"
    span = f"measure {first}" if len(order) == 1 else f"measures {first} to {last}"
    return f"{span} of {count(len(measures), 'measure')}"


# --- signs ----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Cut:
    """Signs that go, by measure index in the source.

    Args:
        forward: Repeat signs at the start of a measure.
        backward: Repeat signs at the end of one.
        endings: First and last measures of ending brackets.
        jumps: Whether segno, coda and jumps go.
    """

    forward: frozenset[int]
    backward: frozenset[int]
    endings: frozenset[int]
    jumps: bool


def _cut_signs(signs: Signs, order: tuple[int, ...]) -> _Cut:
    """Return the signs that lead out of the range."""
    inside = set(order)
    forward: set[int] = set(signs.forward)
    backward: set[int] = set()
    endings = {index for one in signs.endings for index in (one.first, one.last)}
    start = 0
    for index in _indices(signs.length):
        if index in signs.forward:
            start = index
        if index not in signs.backward:
            continue
        stop, brackets = _section_end(signs, index, start)
        if inside.issuperset(_indices(start, stop + 1)):
            forward.discard(start)
            endings -= brackets
        else:
            backward.add(index)
        if not any(one.first <= index + 1 <= one.last for one in signs.endings):
            start = index + 1
    is_all = len(order) == signs.length
    if is_all:
        return _Cut(frozenset(), frozenset(), frozenset(), jumps=False)
    return _Cut(frozenset(forward), frozenset(backward), frozenset(endings), jumps=True)


def _section_end(signs: Signs, index: int, start: int) -> tuple[int, set[int]]:
    """Return the last measure of a repeated section with its endings, and where brackets stand."""
    stop, brackets = index, set[int]()
    for one in signs.endings:
        if start <= one.first <= stop + 1:
            stop = max(stop, one.last)
            brackets |= {one.first, one.last}
    return stop, brackets


def _without_signs(part: Part, order: tuple[int, ...], cut: _Cut) -> tuple[Part, bool]:
    done: list[Measure] = []
    gone = False
    for index, measure in zip(order, part.measures, strict=True):
        barlines = tuple(_barlines(measure.barlines, index, cut))
        directions = tuple(_directions(measure.directions, cut))
        gone = gone or (barlines, directions) != (measure.barlines, measure.directions)
        done.append(replace(measure, barlines=barlines, directions=directions))
    return replace(part, measures=tuple(done)), gone


def _barlines(barlines: Iterable[Barline], index: int, cut: _Cut) -> Iterable[Barline]:
    for one in barlines:
        repeat = one.repeat
        if (repeat == "forward" and index in cut.forward) or (
            repeat == "backward" and index in cut.backward
        ):
            repeat = ""
        ending = None if index in cut.endings else one.ending
        carried = one.carried
        if cut.jumps:
            carried = tuple(extra for extra in carried if extra.name not in _SIGNS)
        style = one.style if repeat == one.repeat else ""
        if style or repeat or ending or carried:
            yield replace(
                one,
                style=style,
                repeat=repeat,
                times=one.times if repeat else 0,
                ending=ending,
                carried=carried,
            )


def _directions(directions: Iterable[Direction], cut: _Cut) -> Iterable[Direction]:
    for one in directions:
        if not (cut.jumps and signs_in(one)) or one.quarters_per_minute is not None:
            yield one
