"""Put the measures of a part into another order and mend what the seams cut.

At a seam (where a measure follows another one than in the source) the measure says again what
holds there; a slur, slide, wedge or line of which one end is elsewhere is left out, and ties, beams
and words that the seam cuts are mended (`variants.steps.cutting.seams`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from variants.errors import Refusal
from variants.score import (
    Change,
    Direction,
    Event,
    EventKey,
    Measure,
    Part,
    Score,
    map_places,
    with_notes,
)
from variants.steps.cutting.in_force import InForce, before_each, opened
from variants.steps.cutting.seams import Seams
from variants.steps.framework.log import Scribe, count
from variants.steps.lines.links import MarkKey, span_links
from variants.steps.wording.words import sign_words

# Directions that have an end elsewhere.
_LINES = re.compile(
    r"<direction-type\b[^>]*>\s*<(wedge|dashes|bracket|octave-shift|pedal)\b([^>]*?)/>\s*"
    r"</direction-type>"
)
_TYPE = re.compile(r"\btype=[\"'](\w+)[\"']")
_NUMBER = re.compile(r"\bnumber=[\"'](\w+)[\"']")
_ENDS = {"stop": "stop", "discontinue": "stop", "continue": "continue", "change": "continue"}

# A line's sign: measure, direction in it, place in the direction.
_LineKey = tuple[int, int, int]


def check_measures(score: Score) -> int:
    """Return the number of measures that all parts have.

    Raises:
        Refusal: They have different numbers of them, or none.
    """
    numbers = {len(part.measures) for part in score.parts}
    if len(numbers) > 1:
        raise Refusal(
            "the parts have different numbers of measures", way_out="take one with choose-part"
        )
    return numbers.pop() if numbers else 0


def arranged_part(log: Scribe, order: Sequence[int]) -> tuple[Part, list[Change]]:
    """Return the part with its measures in another order, and what the seams cost.

    Args:
        log: Scribe of the part.
        order: Indices of its measures, each as often as it is wanted.
    """
    part = log.part
    plan = _Plan(part, tuple(order))
    held = before_each(part)
    now = InForce(instrument=part.instrument)
    done: list[Measure] = []
    changes: list[Change] = []
    seams = Seams(log, plan.order)
    for place, index in enumerate(order):
        measure = plan.without_cut(place)
        if seams.begins(place):
            measure = opened(measure, held[index], now)
        measure, lines = seams.mended(place, measure)
        changes += lines
        done.append(measure)
        now = now.after(measure)
    changes += plan.lines(log)
    done, lines = seams.with_whole_words(done)
    return replace(part, measures=tuple(done)), changes + lines


def numbered(part: Part) -> Part:
    """Return the part with its measures numbered from the first on; pick-ups do not count."""
    number, extra = 0, 0
    done: list[Measure] = []
    for index, measure in enumerate(part.measures):
        if measure.is_implicit:
            extra += index > 0
            name = measure.number if not index else f"X{extra}"
        else:
            number += 1
            name = str(number)
        done.append(replace(measure, number=name))
    return replace(part, measures=tuple(done))


class _Plan:
    """Which ends of slurs and lines the seams cut off."""

    def __init__(self, part: Part, order: tuple[int, ...]) -> None:
        self.part = part
        self.order = order
        self.spans = {mark: span for span in span_links(part) for mark in span}
        self.line_spans = {key: span for span in _line_links(part) for key in span}
        self.lost: dict[str, int] = {}

    def is_whole(self, place: int, first: int, last: int) -> bool:
        """Whether all measures of a span stand around a place as they do in the source."""
        start = place - (self.order[place] - first)
        wanted = tuple(range(first, last + 1))
        return start >= 0 and self.order[start : start + len(wanted)] == wanted

    def without_cut(self, place: int) -> Measure:
        """Return the measure at a place without ends that have lost their other end."""
        measure = self.part.measures[self.order[place]]
        if not self._may_be_cut(place):
            return measure
        index = self.order[place]
        whole = map_places(measure, lambda at, event: self._event(place, (index, *at), event))
        directions = [
            self._direction(place, index, one) for index, one in enumerate(measure.directions)
        ]
        kept = tuple(one for one in directions if one is not None)
        return replace(whole, directions=kept)

    def _may_be_cut(self, place: int) -> bool:
        """Whether any span of the measure lacks one of its measures here."""
        index = self.order[place]
        marks = (span for key, span in self.spans.items() if key[0][0] == index)
        lines = (span for key, span in self.line_spans.items() if key[0] == index)
        return any(
            not self.is_whole(place, span[0][0][0], span[-1][0][0]) for span in marks
        ) or any(not self.is_whole(place, span[0][0], span[-1][0]) for span in lines)

    def _event(self, place: int, key: EventKey, event: Event) -> Event:
        marks = tuple(
            mark
            for index, mark in enumerate(event.marks)
            if self._stays(place, (key, -1, index), mark.name)
        )
        notes = tuple(
            replace(
                note,
                marks=tuple(
                    mark
                    for index, mark in enumerate(note.marks)
                    if self._stays(place, (key, owner, index), mark.name)
                ),
            )
            if note.marks
            else note
            for owner, note in enumerate(event.notes)
        )
        if marks == event.marks and notes == event.notes:
            return event
        return replace(with_notes(event, notes), marks=marks)

    def _stays(self, place: int, key: MarkKey, name: str) -> bool:
        span = self.spans.get(key)
        if span is None or self.is_whole(place, span[0][0][0], span[-1][0][0]):
            return True
        self._lose(name)
        return False

    def _direction(self, place: int, index: int, one: Direction) -> Direction | None:
        number = -1

        def kept(found: re.Match[str]) -> str:
            nonlocal number
            number += 1
            span = self.line_spans.get((self.order[place], index, number))
            if span is None or self.is_whole(place, span[0][0], span[-1][0]):
                return found.group(0)
            self._lose(found.group(1))
            return ""

        xml = _LINES.sub(kept, one.xml)
        if xml == one.xml:
            return one
        return replace(one, xml=xml) if xml.strip() or one.sound else None

    def _lose(self, name: str) -> None:
        self.lost[name] = self.lost.get(name, 0) + 1

    def lines(self, log: Scribe) -> Iterator[Change]:
        """Yield the lines that say what was cut."""
        for name, number in sorted(self.lost.items()):
            yield log.overall(
                f"{count(number, 'end')} of a {sign_words(name)} left out: its other end stands"
                " elsewhere"
            )


def _line_links(part: Part) -> Iterator[tuple[_LineKey, ...]]:
    """Yield the signs that make one line: its start, what continues it, its stop."""
    opened_lines: dict[tuple[str, str], list[_LineKey]] = {}
    for index, measure in enumerate(part.measures):
        ordered = sorted(enumerate(measure.directions), key=lambda one: one[1].onset)
        for place, direction in ordered:
            for number, found in enumerate(_LINES.finditer(direction.xml)):
                kind = _TYPE.search(found.group(2))
                named = _NUMBER.search(found.group(2))
                role = _ENDS.get(kind.group(1), "start") if kind else "start"
                name = (found.group(1), named.group(1) if named else "1")
                key = (index, place, number)
                if role == "start":
                    opened_lines[name] = [key]
                elif name in opened_lines:
                    opened_lines[name].append(key)
                    if role == "stop":
                        yield tuple(opened_lines.pop(name))
