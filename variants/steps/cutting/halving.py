"""Cut every measure in two at its middle beat: twice the values in twice the measures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

from variants.music import Metre
from variants.score import (
    Attributes,
    Barline,
    Direction,
    Event,
    Harmony,
    Measure,
    Part,
    Voice,
)
from variants.score.notation import NotationWriter, cut_at
from variants.score.signs import Carried
from variants.score.timeline import measures
from variants.steps.cutting.arranging import numbered
from variants.steps.framework.log import Scribe

_WAY_OUT = "use metre=scaled, which keeps the measures as they are"
_Timed = TypeVar("_Timed", Attributes, Barline, Harmony, Direction, Carried)


def in_halves(part: Part, log: Scribe, *, ticks: int) -> Part:
    """Return the part with its measures cut in two, under the metre that each half fills.

    What lasts over the middle is cut there and tied. A pick-up that is no longer than half a
    measure stays one measure. Measures are numbered anew.

    Args:
        part: The part, in doubled values under the doubled metre.
        log: Scribe of the part as it was, whose metres come back.
        ticks: Ticks in a quarter of ``part``.

    Raises:
        Refusal: A metre has no middle beat, or a tuplet lies over it.
    """
    done: list[Measure] = []
    for view in measures(part, ticks):
        missing = view.shift
        old = log.part.measures[view.index]
        source = log.views[view.index].metre
        metre = half_metre(source)
        if not source.is_measured or len(source.beat_lengths) % 2:
            raise log.refusal(
                view.index, 0, f"{source} has no beat in its middle to cut at", way_out=_WAY_OUT
            )
        measure = replace(view.measure, attributes=_with_metres(view.measure, old))
        full = int(metre.quarters * ticks)
        cutter = _Cutter(log, view.index, metre, ticks)
        for half, shift in cutter.halves(measure, full - missing, missing):
            is_full = half.length == full
            counted = replace(half, is_implicit=half.is_implicit and not is_full)
            done.append(cutter.writer(half.length, shift).beamed_measure(counted))
    return numbered(replace(part, measures=tuple(done)))


def half_metre(metre: Metre) -> Metre:
    """Return the metre of half a measure in doubled values: the same, unless it counts in threes.

    The half of a doubled 6/8 is three quarters, each counted, which is 3/4; that of 12/8 is 6/4.

    >>> str(half_metre(Metre(("6",), (8,)))), str(half_metre(Metre(("4",), (4,))))
    ('3/4', '4/4')
    """
    beats, kinds = metre.beats, metre.beat_types
    if not metre.is_compound or len(kinds) > 1 or not beats[0].isdecimal() or kinds[0] < 2:
        return metre
    return Metre((str(int(beats[0]) // 2),), (kinds[0] // 2,))


def _with_metres(measure: Measure, old: Measure) -> tuple[Attributes, ...]:
    """Return the attributes of a measure with the metres that it had before it was doubled."""
    metres = iter([half_metre(one.metre) for one in old.attributes if one.metre])
    return tuple(
        replace(one, metre=next(metres, Metre())) if one.metre else one
        for one in measure.attributes
    )


class _Cutter:
    """Cuts one measure."""

    def __init__(self, log: Scribe, index: int, metre: Metre, ticks: int) -> None:
        self.log = log
        self.index = index
        self.metre = metre
        self.ticks = ticks

    def halves(self, measure: Measure, at: int, shift: int) -> Iterator[tuple[Measure, int]]:
        """Yield the halves of a measure that is cut at a tick, each with its missing ticks."""
        if not 0 < at < measure.length:
            full = int(self.metre.quarters * self.ticks)
            yield measure, shift % full if full else 0
            return
        writers = (self.writer(at, shift), self.writer(measure.length - at, 0))
        lefts, rights = [], []
        for voice in measure.voices:
            left, right = self._voice(voice, at, writers)
            lefts.append(Voice(voice.id, left))
            rights.append(Voice(voice.id, right))
        first, second = Measure(measure.number, at), Measure("", measure.length - at)
        yield self._half(first, measure, (0, at), lefts), shift
        yield self._half(second, measure, (at, measure.length + 1), rights), 0

    def _half(
        self, half: Measure, whole: Measure, span: tuple[int, int], voices: list[Voice]
    ) -> Measure:
        is_first = not span[0]
        sides = [one for one in whole.barlines if one.location != ("right" if is_first else "left")]
        fixed = [one for one in sides if one.location != "middle"]
        middle = _within((one for one in sides if one.location == "middle"), span)
        if not is_first:
            fixed = [replace(one, onset=max(0, one.onset - span[0])) for one in fixed]
        return replace(
            half,
            voices=tuple(voices),
            is_implicit=whole.is_implicit and is_first,
            attributes=_within(whole.attributes, span),
            barlines=(*fixed, *middle),
            harmonies=_within(whole.harmonies, span),
            directions=_within(whole.directions, span),
            carried=_within(whole.carried, span),
        )

    def writer(self, length: int, shift: int) -> NotationWriter:
        """Return the writer of a half of the measure; what no value names stays nameless."""
        return NotationWriter(self.metre, self.ticks, length, shift, strict=False)

    def _voice(
        self, voice: Voice, at: int, writers: tuple[NotationWriter, NotationWriter]
    ) -> tuple[tuple[Event, ...], tuple[Event, ...]]:
        left: list[Event] = []
        right: list[Event] = []
        for event in voice.events:
            if event.onset >= at:
                right.append(replace(event, onset=event.onset - at))
            elif event.end <= at:
                left.append(event)
            else:
                before, after = self._cut(event, at, writers)
                left += before
                right += after
        return tuple(left), tuple(right)

    def _cut(
        self, event: Event, at: int, writers: tuple[NotationWriter, NotationWriter]
    ) -> tuple[Iterable[Event], Iterable[Event]]:
        """Return what an event becomes before and after the cut that it lies over."""
        if event.is_measure_rest:
            rest = replace(event, duration=at - event.onset)
            return [rest], [replace(event, onset=0, duration=event.end - at)]
        if event.value.is_tuplet:
            raise self.log.refusal(
                self.index, event.onset // 2, "a tuplet lies over the middle", way_out=_WAY_OUT
            )
        before, after = cut_at(event, at)
        after = replace(after, onset=0)
        if event.is_rest:
            pairs = zip((before, after), writers, strict=True)
            left, right = (one.rests(part.onset, part.end, part) for part, one in pairs)
            return left, right
        return writers[0].tied(before), writers[1].tied(after)


def _within(signs: Iterable[_Timed], span: tuple[int, int]) -> tuple[_Timed, ...]:
    """Return the signs that stand in a span of a measure, counted from its start."""
    low, high = span
    return tuple(replace(one, onset=one.onset - low) for one in signs if low <= one.onset < high)
