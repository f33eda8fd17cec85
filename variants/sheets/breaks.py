"""Where systems end: whole measures, evenly filled, at phrases, four to a line for beginners."""

from __future__ import annotations

from collections.abc import Collection, Sequence

# What a system costs beside being stretched: a single measure on a line looks lost, and lines of
# four (or two) are what readers of regular phrases expect.
_COUNT_COST = {1: 0.30, 2: 0.06, 3: 0.10, 4: 0.0}
_MANY_COST = 0.12
# A single measure on the last line, where there are others to share it with (common practice).
_WIDOW = 0.6
# A line that begins within a phrase: less than what a line of another length costs, so that phrases
# decide only between like lines.
_WITHIN_PHRASE = 0.14
# A line that begins within an ending, or after a pick-up: only where nothing else fits.
_TORN = 5.0
# A line may be set a little tighter than its natural width.
_TIGHTEST = 0.97
_TOO_FULL = 50.0


def system_starts(
    widths: Sequence[float],
    *,
    head: float,
    line: float,
    most: int,
    uncounted: Sequence[bool] = (),
    glued: Collection[int] = (),
    phrases: Collection[int] = (),
) -> list[int]:
    """Return the index of the first measure of each system.

    Args:
        widths: Natural width of each measure without clef and key, in any unit.
        head: Width of clef and key at the start of a line, in the same unit.
        line: Width of a line.
        most: Most measures on a line.
        uncounted: For each measure whether it does not count toward ``most`` (a pick-up).
        glued: Measures that belong to the one before them on its line.
        phrases: Measures with which a phrase begins; none if nothing is known of them.

    Dynamic programming over the last break, as in the total-fit line breaking of Knuth and
    Plass (1981), with the squared stretch of a line as its badness.

    >>> system_starts([10] * 8, head=5, line=50, most=4)
    [0, 4]
    >>> system_starts([10] * 9, head=5, line=50, most=4)
    [0, 4, 7]
    """
    count = len(widths)
    best: list[tuple[float, int]] = [(0.0, 0)] + [(float("inf"), 0)] * count
    for end in range(1, count + 1):
        for start in range(end - 1, -1, -1):
            inside = range(start, end)
            counted = sum(1 for i in inside if not (uncounted and uncounted[i]))
            if counted > most and end - start > 1:
                break
            natural = sum(widths[i] for i in inside)
            cost = _cost(natural + head, line, counted, last=end == count, only=start == 0)
            if start:
                cost += _TORN * (start in glued)
                cost += _WITHIN_PHRASE * bool(phrases and start not in phrases)
            if best[start][0] + cost < best[end][0]:
                best[end] = (best[start][0] + cost, start)
            if natural * _TIGHTEST > line and end - start > 1:
                break
    starts: list[int] = []
    end = count
    while end > 0:
        end = best[end][1]
        starts.append(end)
    return starts[::-1]


def _cost(natural: float, line: float, counted: int, *, last: bool, only: bool) -> float:
    stretch = line / natural if natural else 1.0
    cost = _COUNT_COST.get(counted, _MANY_COST)
    if stretch < _TIGHTEST:
        return cost + _TOO_FULL * natural / line
    if last:
        return _WIDOW if counted < 2 and not only else cost * 0.5
    return cost + 0.05 * (stretch - 1) ** 2
