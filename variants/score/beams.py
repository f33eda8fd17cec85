"""How notes are beamed: which belong together, and where secondary beams break.

Common practice: beams show the beat. Eighths of half a 4/4 measure share a beam when nothing
shorter stands among them; otherwise each beat has its own. A compound beat has one, and so has
each group of an uneven metre. Rests and longer notes break a beam.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import groupby

from variants.music import Metre, NoteValue
from variants.music.duration import TYPES
from variants.score.model import Event

_QUARTER = TYPES.index("quarter")


def flags(value: NoteValue) -> int:
    """Return how many beams or flags a value has: 0 for a quarter, 2 for a 16th.

    >>> [flags(NoteValue(name)) for name in ("half", "quarter", "eighth", "16th")]
    [0, 0, 1, 2]
    """
    return max(0, TYPES.index(value.type) - _QUARTER) if value.type else 0


def beams(
    events: Sequence[Event], metre: Metre, *, ticks: int, shift: int = 0
) -> list[tuple[str, ...]]:
    """Return the MusicXML beam values of each event of one voice of a measure.

    Args:
        events: The events in order of time; grace notes keep the beams that they have.
        metre: Metre in force.
        ticks: Ticks in a quarter.
        shift: Ticks of the metre that are missing before the measure starts (a pick-up).

    Returns:
        For each event the values of its beams, the primary one first; empty for none.
    """
    found = [event.beams if event.grace is not None else () for event in events]
    for run in _runs(events, metre, ticks=ticks, shift=shift):
        if len(run) > 1:
            values = _values([events[index] for index in run])
            for index, value in zip(run, values, strict=True):
                found[index] = value
    return found


def grace_beams(events: Sequence[Event]) -> list[tuple[str, ...]]:
    """Return the beams of the events of a voice, grace notes that follow one another joined."""
    found: list[tuple[str, ...]] = []
    for short, group in groupby(events, lambda e: e.grace is not None and flags(e.value) > 0):
        run = list(group)
        joined = short and len(run) > 1 and all(event.notes for event in run)
        found += _values(run) if joined else [event.beams for event in run]
    return found


@lru_cache(maxsize=256)
def _groups(metre: Metre) -> tuple[tuple[Fraction, ...], tuple[Fraction, ...]]:
    """Return where groups of eighths begin, and where groups with shorter notes begin."""
    wide: list[Fraction] = []
    narrow: list[Fraction] = []
    at = Fraction(0)
    for text, kind in zip(metre.beats, metre.beat_types, strict=True):
        for number in text.split("+"):
            wide += [at + start for start in _starts(int(number), kind, wide=True)]
            narrow += [at + start for start in _starts(int(number), kind, wide=False)]
            at += Fraction(int(number) * 4, kind)
    return tuple(wide), tuple(narrow)


def _starts(count: int, kind: int, *, wide: bool) -> list[Fraction]:
    unit = Fraction(4, kind)
    if kind >= 8 and count % 3 == 0:
        return [index * 3 * unit for index in range(count // 3)]
    if kind >= 8 and count % 2:
        sizes = {5: [3, 2], 7: [2, 2, 3]}.get(count, [2] * (count // 2) + [1])
        return [sum(sizes[:index]) * unit for index in range(len(sizes))]
    length = count * unit
    # Only a measure that halves has half-measures to beam; 3/4 is beamed by the beat.
    step = 2 if wide and length % 2 == 0 else 1
    return [Fraction(start) for start in range(0, -int(-length // 1), step)]


def _runs(events: Sequence[Event], metre: Metre, *, ticks: int, shift: int) -> Iterator[list[int]]:
    """Yield the places of events that share a primary beam."""
    wide, narrow = _groups(metre) if metre.is_measured else ((), ())
    full = metre.quarters

    def group(event: Event, starts: tuple[Fraction, ...]) -> tuple[int, int]:
        at = Fraction(event.onset + shift, ticks)
        if not starts:
            return int(at), 0
        turn, rest = divmod(at, full)
        return int(turn), bisect_right(starts, rest)

    busy = {
        group(event, wide)
        for event in events
        if event.grace is None and event.notes and (flags(event.value) > 1 or event.value.is_tuplet)
    }
    run: list[int] = []
    key: tuple[tuple[int, int], tuple[int, int]] | None = None
    end = -1
    for index, event in enumerate(events):
        if event.grace is not None:
            continue
        first = group(event, wide)
        now = (first, group(event, narrow) if first in busy else (0, 0))
        beamed = bool(event.notes) and flags(event.value) > 0
        if run and (not beamed or now != key or event.onset != end):
            yield run
            run = []
        if beamed:
            run.append(index)
            key, end = now, event.end
    if run:
        yield run


def _values(run: list[Event]) -> list[tuple[str, ...]]:
    counts = [flags(event.value) for event in run]
    found: list[list[str]] = [[] for _ in run]
    for level in range(1, max(counts) + 1):
        for index, count in enumerate(counts):
            if count >= level:
                before = index > 0 and counts[index - 1] >= level
                after = index + 1 < len(run) and counts[index + 1] >= level
                found[index].append(_value(run, index, before=before, after=after))
    return [tuple(values) for values in found]


def _value(run: list[Event], index: int, *, before: bool, after: bool) -> str:
    if before and after:
        return "continue"
    if before or after:
        return "end" if before else "begin"
    if index == 0:
        return "forward hook"
    if index == len(run) - 1:
        return "backward hook"
    # Between two longer notes a hook points at the one with which it fills a beat: a short note
    # that follows a dotted one completes it.
    return "backward hook" if run[index - 1].value.dots else "forward hook"
