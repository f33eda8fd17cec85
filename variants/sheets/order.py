"""The order in which the measures of a part are played: repeats and endings unfolded.

Jumps by words (da capo, dal segno, to coda) are not followed: their rules differ from edition
to edition, and a listener who follows the sheet is better served by the plain order.
"""

from __future__ import annotations

from variants.score import Measure, Part

# A score whose repeats nest or lie is played through once more at most this often.
_MOST_PASSES = 8


def play_order(part: Part) -> list[int]:
    """Return the index of each measure as it is played.

    A repeat goes back to the nearest open repeat sign before it, else to the start. An ending
    is played on the passes that its number names. Common practice.
    """
    measures = part.measures
    endings = _endings(measures)
    order: list[int] = []
    start, passed, at = 0, 1, 0
    done: set[int] = set()
    while at < len(measures):
        here = endings[at]
        if here and passed not in here:
            at += 1
            continue
        measure = measures[at]
        if at != start and _has(measure, "forward") and at not in done:
            start, passed = at, 1
        order.append(at)
        times = _times(measure)
        later = _later(endings, at)
        if times and at not in done:
            if passed < max(times if not later else 0, later, max(here, default=0)):
                passed += 1
                at = start
                continue
            done.add(at)
            start, passed = at + 1, 1
        elif here and not later and endings[at + 1 : at + 2] != [here]:
            # The last ending closes without a repeat of its own.
            start, passed = at + 1, 1
        at += 1
    return order


def _has(measure: Measure, repeat: str) -> bool:
    return any(barline.repeat == repeat for barline in measure.barlines)


def _times(measure: Measure) -> int:
    """Return how often the passage that ends with a measure is played; 0 for no repeat."""
    for barline in measure.barlines:
        if barline.repeat == "backward":
            return min(barline.times or 2, _MOST_PASSES)
    return 0


def _endings(measures: tuple[Measure, ...]) -> list[tuple[int, ...]]:
    """Return for each measure the passes on which it is played; empty for all of them."""
    found: list[tuple[int, ...]] = []
    now: tuple[int, ...] = ()
    for measure in measures:
        stops = False
        for barline in measure.barlines:
            if barline.ending is None:
                continue
            number, kind, _ = barline.ending
            if kind == "start":
                now = _numbers(number)
            else:
                stops = True
        found.append(now)
        if stops:
            now = ()
    return found


def _numbers(text: str) -> tuple[int, ...]:
    numbers = [int(one) for one in text.replace(",", " ").split() if one.isdigit()]
    return tuple(number for number in numbers if 0 < number <= _MOST_PASSES)


def _later(endings: list[tuple[int, ...]], at: int) -> int:
    """Return the last pass that an ending right after this one is for; 0 for none."""
    last = 0
    following = at + 1
    while endings[at] and following < len(endings) and endings[following]:
        if endings[following] != endings[at]:
            last = max(last, *endings[following])
        following += 1
    return last
