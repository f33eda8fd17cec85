"""What of a piece is handed over: whole phrases that follow each other, and nothing less.

A pupil's version begins where a phrase begins, with its pick-up, and ends where one ends; never
within a word (no phrase ends there) and never within an ending or right before one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from variants.levels.level import Level
from variants.levels.plan import Window
from variants.levels.profile import MEASURE_PARTS, Profile
from variants.levels.workshop import Node
from variants.score import measures, timeline
from variants.steps.excerpt import beat_code
from variants.tune.phrases import PhraseStarts

# A piece of its own has four measures at least (common practice), or is a whole shorter piece.
_LEAST_MEASURES = 4
# Longest first; past so many a piece offers no new ones.
_MOST_WINDOWS = 120
# A step on the rhythm moves the first note of a phrase by less than this, in measures.
_NEAR = 0.26


@dataclass(frozen=True, slots=True)
class _Cut:
    """A place between two notes of a node where a phrase begins.

    Args:
        measure: Index of the measure of the first note behind it.
        begin: Beat of that note; empty if nothing sounds before it in its measure.
        end: Beat of the last note before it in that measure, likewise empty.
        ending: How little the phrase before it ends in a close, 0 to 1.
        places: Of that first note, and of the last one before it, in their measures.
    """

    measure: int
    begin: str
    end: str
    ending: float = 0.0
    places: tuple[int, int] = (0, -1)


def windows(node: Node, starts: PhraseStarts, level: Level) -> list[Window]:
    """Return the passages of a node whose rhythm and texture meet a level, the longest first."""
    found = node.profile
    count, head = len(found.measures), int(found.has_pickup)
    most = level.limits.measures.value if level.limits.measures is not None else count
    whole = Window(0, count)
    fitting = [measure.fits(level) for measure in found.measures]
    result = [whole] if all(fitting) and count - head <= most else []
    cuts = list(_cuts(node, starts))
    for one, begin in enumerate(cuts):
        for end in (*cuts[one + 1 :], _Cut(count, "", "")):
            window = _between(begin, end)
            size = window.stop - window.first - (bool(window.begin) or (not window.first and head))
            if (
                size <= most
                and (size >= _LEAST_MEASURES or size == count - head)
                and all(fitting[window.measures])
                and _can_be_named(found, window)
                and window != whole
            ):
                result.append(window)
    result.sort(key=lambda window: (window.first - window.stop, window.first))
    return result[:_MOST_WINDOWS]


def _between(begin: _Cut, end: _Cut) -> Window:
    first = 0 if begin.measure == 0 else begin.measure
    if end.begin:
        return Window(
            first,
            end.measure + 1,
            begin.begin,
            end.end,
            end.ending,
            (begin.places[0], end.places[1]),
        )
    return Window(first, end.measure, begin.begin, "", end.ending, (begin.places[0], -1))


def _cuts(node: Node, starts: PhraseStarts) -> Iterator[_Cut]:
    """Yield where the phrases of the source begin in a node, whose rhythm may be another."""
    moments = [
        (index, moment.place)
        for index, measure in enumerate(node.profile.measures)
        for moment in measure.moments
        if not moment.grace
    ]
    if not moments:
        return
    for start, ending in zip(starts.starts, (0.0, *starts.closes), strict=False):
        near = min(
            range(len(moments)),
            key=lambda n: abs(moments[n][0] + moments[n][1] / MEASURE_PARTS - start),
        )
        measure, place = moments[near]
        if abs(measure + place / MEASURE_PARTS - start) > _NEAR or measure in starts.uncut:
            continue
        before = moments[near - 1] if near else None
        if before is None or before[0] != measure:
            yield _Cut(measure, "", "", ending)
        else:
            yield _Cut(
                measure,
                _code(node, measure, place),
                _code(node, *before),
                ending,
                (place, before[1]),
            )


def _code(node: Node, index: int, place: int) -> str:
    """Return the beat of a place in a measure as `excerpt` takes it."""
    view = measures(node.score.parts[0], node.score.ticks)[index]
    full = view.metre.quarters * node.score.ticks or view.measure.length
    ticks = [take.tick for take in timeline(node.score.parts[0]).takes if take.measure == index]
    tick = min(
        ticks,
        key=lambda one: abs((one + view.missing * node.score.ticks) * MEASURE_PARTS / full - place),
    )
    return beat_code(view.beat(tick))


def _can_be_named(found: Profile, window: Window) -> bool:
    """Whether the printed numbers of a range mean just these measures."""
    names = [measure.number for measure in found.measures]
    first, last = names[window.first], names[window.stop - 1]
    if not first or not last or set("-,/") & set(first + last):
        return False
    is_last = len(names) - 1 - names[::-1].index(last) == window.stop - 1
    return names.index(first) == window.first and is_last and names.count(last) == 1
