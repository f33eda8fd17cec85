"""The move from one grip to the next, as tables of categories that weights are looked up by.

Three things move: the hand (its position), each finger (its place), and the line (the place of
the highest new note). Each pair of values falls into a category; a weight for each category turns
the categories into cost tables, so that the cost of all moves between two slots is a sum of
look-ups.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import numpy.typing as npt

from variants.fingering.lattice import CODES, MAX_POSITION, PLACES

Ints = npt.NDArray[np.int32]

# The hand: position * 2 + (1 when no finger is down).
HANDS = (MAX_POSITION + 2) * 2
TIMES = 4
_STEPS = 19
HAND_KINDS = TIMES * 4 * _STEPS
FINGER_KINDS = 14
FINGER_TIMES = 2
LEAD_KINDS = 11 * 4 + 3 + 12
# The fingers of the line: 25 pairs of fingers in each relation of two places.
RELATIONS = 5 * 13
LINE_KINDS = RELATIONS * 25


def time_class(seconds: float, *, rest: bool) -> int:
    """Return 0 for a fast move, 1 for a moderate one, 2 for a slow one, 3 over a rest."""
    if rest:
        return 3
    if seconds <= 0.22:
        return 0
    return 1 if seconds <= 0.5 else 2


@lru_cache(maxsize=1)
def hand_steps() -> Ints:
    """Return the category, without time, of each (hand before, hand after)."""
    hand = np.arange(HANDS)
    position, idle = hand // 2, hand % 2
    step = position[None, :] - position[:, None]
    size = np.abs(step)
    band = np.select([size <= 5, size <= 7, size <= 9, size <= 11], [size, 6, 7, 8], 9)
    signed = np.where(step < 0, 9 + band, band)
    context = idle[:, None] * 2 + idle[None, :]
    kinds: Ints = (context * _STEPS + signed).astype(np.int32)
    return kinds


@lru_cache(maxsize=1)
def finger_moves() -> Ints:
    """Return the category of each (place before, place after) of one finger."""
    code = np.arange(CODES)
    string, fret = code // PLACES, code % PLACES
    up = fret == 0
    before, after = (slice(None), None), (None, slice(None))
    gap = np.abs(fret[before] - fret[after])
    rise = fret[after] - fret[before]
    same_string = string[before] == string[after]
    barre = (string[before] == 0) | (string[after] == 0)
    near = np.abs(string[before] - string[after]) == 1
    both_barre = (string[before] == 0) & (string[after] == 0)
    along = np.select([rise == 0, rise == 1, rise == -1, gap == 2], [3, 4, 5, 6], 7)
    across = np.select([(gap == 0) & near, gap == 0, gap == 1, gap == 2], [8, 9, 10, 11], 12)
    kinds = np.where(same_string & ~barre | both_barre, along, across)
    kinds = np.where(barre & ~both_barre, np.where(gap == 0, 13, across), kinds)
    kinds = np.where(up[before] & up[after], 0, kinds)
    kinds = np.where(up[before] & ~up[after], 1, kinds)
    kinds = np.where(~up[before] & up[after], 2, kinds)
    return kinds.astype(np.int32)


@lru_cache(maxsize=8)
def lead_moves(open_midi: tuple[int, ...]) -> Ints:
    """Return the category of each (place before, place after) of the line."""
    code = np.arange(CODES)
    string, fret = code // PLACES, code % PLACES
    tuning = np.array([0, *open_midi, *[0] * 12])[:12]
    pitch = tuning[string] + fret
    before, after = (slice(None), None), (None, slice(None))
    across = np.clip(string[after] - string[before], -5, 5) + 5
    is_open = (fret == 0).astype(np.int32)
    kinds = across * 4 + is_open[before] * 2 + is_open[after]
    interval = pitch[after] - pitch[before]
    stay = (interval == 0) & (across == 5)
    kinds = np.where(stay, 44, kinds)
    kinds = np.where((interval == 0) & (across != 5), 45, kinds)
    # A step of the line on one string, on the next one, further: up and down.
    step = (np.abs(interval) <= 2) & (interval != 0) & (is_open[before] + is_open[after] == 0)
    close = np.abs(string[after] - string[before])
    kinds = np.where(
        step,
        47 + np.minimum(close, 2) * 4 + (interval < 0) * 2 + (np.abs(interval) == 2),
        kinds,
    )
    return kinds.astype(np.int32)


@lru_cache(maxsize=1)
def line_relations() -> Ints:
    """Return the relation of each (place before, place after), times 25.

    Same string, next string toward the treble or the bass, further; by the frets between.
    """
    code = np.arange(CODES)
    string, fret = code // PLACES, code % PLACES
    across = string[None, :] - string[:, None]
    kind = np.select([across == 0, across == -1, across == 1, across < -1], [0, 1, 2, 3], 4)
    rise = np.clip(fret[None, :] - fret[:, None], -6, 6) + 6
    relations: Ints = ((kind * 13 + rise) * 25).astype(np.int32)
    return relations
