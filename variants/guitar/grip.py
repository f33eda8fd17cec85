"""Grips: every way to hold notes together on the neck, and every fingering of each way.

A grip puts each note on a string and a fret and gives each stopped note a finger. It keeps these
laws, which `tests.oracles.grip_laws` states note by note and :func:`grips` builds in:

- one note a string;
- an open string has no finger (0), a stopped one has a finger 1 to 4;
- a finger stands on one fret; on several strings of it, it is a barre;
- a higher finger is never on a lower fret;
- at one fret the string nearer the bass side takes the lower finger;
- a barre crosses no open string and no note stopped below it;
- two fingers are no further apart than the hand allows, in mm along the neck.

Sorting the stopped notes by fret, then from the bass side, turns the finger laws into "fingers
never fall": the fingerings of n stopped notes are then the non-decreasing sequences of four
fingers, of which only C(n + 3, n) exist, and the rest of the laws filter those.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations_with_replacement

import numpy as np
import numpy.typing as npt

from variants.guitar.hand import Hand

Ints = npt.NDArray[np.int16]
Bools = npt.NDArray[np.bool_]

THUMB = 5
_NO_LIMIT = 99


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """What a hand may do on an instrument.

    Args:
        open_midi: MIDI number of each open string behind the capo, string 1 first.
        top_frets: Highest fret of each string, counted as the tab counts it.
        offsets: Frets between nut and start of each string (5 for the fifth string of a banjo).
        scale_mm: Scale length in mm. Behind a capo the frets stand closer than this supposes:
            the limits are then on the safe side, and a capo does not change the hand.
        hand: The hand.
        strings: The strings allowed.
        max_span_frets: Most frets between lowest and highest stopped note.
        barres: Whether a finger may hold several strings.
        fingers: Fingers allowed.
        thumb: Whether the thumb may stop the lowest string.
        closed: Whether open strings are forbidden.
    """

    open_midi: tuple[int, ...]
    top_frets: tuple[int, ...]
    offsets: tuple[int, ...]
    scale_mm: float
    hand: Hand
    strings: tuple[int, ...]
    max_span_frets: int = _NO_LIMIT
    barres: bool = True
    fingers: tuple[int, ...] = (1, 2, 3, 4)
    thumb: bool = False
    closed: bool = False

    def places(self, midi: int) -> tuple[tuple[int, int], ...]:
        """Return each (string, physical fret) that sounds a MIDI number, string 1 first.

        A physical fret counts from the capo on the long strings; 0 is open.
        """
        found = []
        for string in self.strings:
            fret = midi - self.open_midi[string - 1]
            if 0 <= fret <= self.top_frets[string - 1] and not (fret == 0 and self.closed):
                found.append((string, fret + self.offsets[string - 1] if fret else 0))
        return tuple(found)

    def distance_mm(self, low: int, high: int) -> float:
        """Return the mm along the neck between two frets (equal temperament)."""
        return self.scale_mm * float(2 ** (-low / 12) - 2 ** (-high / 12))


@dataclass(frozen=True, slots=True)
class GripTable:
    """Grips of the same notes, a row each; columns in the order of the notes.

    Args:
        strings: String of each note.
        frets: Physical fret of each note, 0 open.
        fingers: Finger of each note, 0 open, 5 the thumb.
    """

    strings: Ints
    frets: Ints
    fingers: Ints

    def __len__(self) -> int:
        return len(self.strings)


@lru_cache(maxsize=64)
def _patterns(stopped: int, fingers: tuple[int, ...], barres: bool) -> Ints:  # noqa: FBT001
    rows = [
        row
        for row in combinations_with_replacement(sorted(fingers), stopped)
        if barres or len(set(row)) == len(row)
    ]
    return np.array(rows, dtype=np.int16).reshape(len(rows), stopped)


def placements(midis: tuple[int, ...], reach: Reach) -> list[tuple[tuple[int, int], ...]]:
    """Return every way to put notes on different strings within one reach of the hand."""
    limit = max(reach.hand.span_mm) + 1e-6
    options = [reach.places(midi) for midi in midis]
    found: list[tuple[tuple[int, int], ...]] = []

    def extend(done: tuple[tuple[int, int], ...], used: int, low: int, high: int) -> None:
        if len(done) == len(options):
            found.append(done)
            return
        for string, fret in options[len(done)]:
            if used >> string & 1:
                continue
            low2, high2 = (min(low, fret), max(high, fret)) if fret else (low, high)
            if (
                high2
                and high2 > low2
                and (high2 - low2 > reach.max_span_frets or reach.distance_mm(low2, high2) > limit)
            ):
                continue
            extend((*done, (string, fret)), used | 1 << string, low2, high2)

    extend((), 0, 99, 0)
    return found


def grips(midis: tuple[int, ...], reach: Reach) -> GripTable:
    """Return every legal grip of notes that sound together, in a fixed order.

    Args:
        midis: Sounding MIDI numbers, any order, at least one.
        reach: Instrument, hand and limits.
    """
    ways = placements(midis, reach)
    count = len(midis)
    if not ways:
        empty = np.zeros((0, count), dtype=np.int16)
        return GripTable(empty, empty, empty)
    array = np.array(ways, dtype=np.int16)
    strings, frets = array[:, :, 0], array[:, :, 1]
    parts = [_fingered(strings, frets, reach)]
    if reach.thumb:
        parts.append(_thumbed(strings, frets, reach))
    return GripTable(
        np.concatenate([part.strings for part in parts]),
        np.concatenate([part.frets for part in parts]),
        np.concatenate([part.fingers for part in parts]),
    )


def _fingered(strings: Ints, frets: Ints, reach: Reach) -> GripTable:
    pieces = []
    stopped = (frets > 0).sum(axis=1)
    for number in range(strings.shape[1] + 1):
        rows = stopped == number
        if rows.any():
            pieces.append(_finger_group(strings[rows], frets[rows], number, reach))
    return GripTable(
        np.concatenate([piece.strings for piece in pieces]),
        np.concatenate([piece.frets for piece in pieces]),
        np.concatenate([piece.fingers for piece in pieces]),
    )


def _finger_group(strings: Ints, frets: Ints, number: int, reach: Reach) -> GripTable:
    patterns = _patterns(number, reach.fingers, reach.barres)
    # Open notes sort behind all stopped ones.
    key = np.where(frets > 0, frets * 64 - strings, 32000)
    order = np.argsort(key, axis=1, kind="stable")[:, :number]
    every = np.arange(len(strings))[:, None]
    sorted_frets, sorted_strings = frets[every, order], strings[every, order]
    legal = np.ones((len(strings), len(patterns)), dtype=np.bool_)
    for a in range(number):
        for b in range(a + 1, number):
            legal &= _pair_legal(
                (sorted_frets[:, a], sorted_frets[:, b]),
                _barre_clear(strings, frets, sorted_strings[:, [a, b]], sorted_frets[:, a]),
                patterns[:, [a, b]],
                reach,
            )
    way, pattern = np.nonzero(legal)
    fingers = np.zeros((len(way), strings.shape[1]), dtype=np.int16)
    fingers[np.arange(len(way))[:, None], order[way]] = patterns[pattern]
    return GripTable(strings[way], frets[way], fingers)


@lru_cache(maxsize=32)
def span_limits(hand: Hand) -> npt.NDArray[np.float64]:
    """Return the widest mm between each two fingers, as a table; 1 where there is no limit."""
    limits = np.ones((6, 6))
    for lower in range(1, 5):
        for higher in range(lower + 1, 5):
            limits[lower, higher] = limits[higher, lower] = hand.limit_mm(lower, higher)
    return limits


def _pair_legal(frets: tuple[Ints, Ints], clear: Bools, fingers: Ints, reach: Reach) -> Bools:
    low, high = frets
    distance = reach.scale_mm * (2.0 ** (-low / 12) - 2.0 ** (-high / 12))
    allowed = span_limits(reach.hand)[fingers[:, 0], fingers[:, 1]]
    one_finger = fingers[:, 0] == fingers[:, 1]
    barre_ok = (low == high) & clear
    result: Bools = np.where(
        one_finger[None, :], barre_ok[:, None], distance[:, None] <= allowed[None, :]
    )
    return result


def _barre_clear(strings: Ints, frets: Ints, ends: Ints, fret: Ints) -> Bools:
    low, high = ends.min(axis=1), ends.max(axis=1)
    between = (strings > low[:, None]) & (strings < high[:, None])
    result: Bools = ~(between & (frets < fret[:, None])).any(axis=1)
    return result


def _thumbed(strings: Ints, frets: Ints, reach: Reach) -> GripTable:
    """Grips in which the thumb stops the lowest string and the fingers the rest.

    The thumb comes over the neck beside the index finger: at most one fret away from the lowest
    stopped note of the fingers (common practice).
    """
    lowest = max(reach.strings)
    pieces = []
    for column in range(strings.shape[1]):
        rows = (strings[:, column] == lowest) & (frets[:, column] > 0)
        rest = [other for other in range(strings.shape[1]) if other != column]
        if not rows.any():
            continue
        if not rest:
            pieces.append(GripTable(strings[rows], frets[rows], np.full_like(strings[rows], THUMB)))
            continue
        table = _fingered(strings[rows][:, rest], frets[rows][:, rest], reach)
        thumb_fret = {tuple(row[rest]): row[column] for row in frets[rows]}
        pieces.append(_with_thumb(table, column, thumb_fret, lowest))
    empty = np.zeros((0, strings.shape[1]), dtype=np.int16)
    if not pieces:
        return GripTable(empty, empty, empty)
    return GripTable(
        np.concatenate([piece.strings for piece in pieces]),
        np.concatenate([piece.frets for piece in pieces]),
        np.concatenate([piece.fingers for piece in pieces]),
    )


def _with_thumb(
    table: GripTable, column: int, thumb_fret: dict[tuple[int, ...], int], lowest: int
) -> GripTable:
    frets = np.array([thumb_fret[tuple(row)] for row in table.frets], dtype=np.int16)
    first = np.where(table.frets > 0, table.frets, 99).min(axis=1, initial=99)
    near = (first == 99) | (np.abs(frets - first) <= 1)
    return GripTable(
        np.insert(table.strings, column, lowest, axis=1)[near],
        np.insert(table.frets, column, frets, axis=1)[near],
        np.insert(table.fingers, column, THUMB, axis=1)[near],
    )
