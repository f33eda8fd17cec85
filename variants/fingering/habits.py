"""What teachers do and editors do not mark: small costs, set by hand, each of common practice.

Editors mark what is not obvious. What every first book prints, they leave out, so that their
marks cannot teach it.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from variants.fingering.features import Held
from variants.guitar.grip import Reach
from variants.guitar.shapes import shapes
from variants.guitar.tuning import STANDARD

Floats = npt.NDArray[np.float32]

# Two notes of a dyad or triad up to a fifth apart lie on strings side by side: a string between
# them has to be kept silent.
_SKIPPED, _SKIPPED_FIRST, _CLOSE_SEMITONES, _DYAD, _FEW = 2.0, 4.5, 7, 2, 3
# Music that fits into the first position is played there: a fret beyond, a note stopped that an
# open string has, the hand further up, and a finger that is not that of its fret.
_HOME_FRETS = 4
_BEYOND, _NOT_OPEN, _AWAY, _OTHER_FINGER = 1.5, 6.0, 1.5, 2.0
# A line leaves alone a string that sounds higher than the one before it (ukulele, banjo), and a
# chord a barre over three strings that single fingers can spare.
_RETURNING, _BARRE, _WIDE_BARRE = 6.0, 3.0, 2
# A chord that has a usual grip gets it, with its root on any of the twelve frets.
_USUAL_SHAPE, _ROOTS = 7.0, 12
# Where the lowest strings are a fifth and a fourth apart (drop D), one finger holds a power chord.
_DROPPED = (7, 5)

_Stops = tuple[tuple[int, int, int], ...]


def skipped_strings(grips: Held, *, is_first: bool) -> Floats:
    """Return the cost of the strings left out between close notes, for each grip.

    Args:
        grips: The grips.
        is_first: In a first version for a pupil, where it counts for more.
    """
    cost = np.zeros(len(grips.position), dtype=np.float32)
    if not 2 <= grips.new <= _FEW:
        return cost
    for low in range(grips.new - 1):
        if grips.midis[low + 1] - grips.midis[low] <= _CLOSE_SEMITONES:
            apart = np.abs(grips.strings[:, low + 1] - grips.strings[:, low])
            cost += (_SKIPPED_FIRST if is_first else _SKIPPED) * (apart > 1)
    return cost


def beyond_home(grips: Held) -> Floats:
    """Return the cost of leaving the first four frets, for each grip."""
    beyond = grips.frets[:, : grips.new].max(axis=1) > _HOME_FRETS
    cost: Floats = (_BEYOND * beyond).astype(np.float32)
    return cost


def first_position(grips: Held, reach: Reach) -> Floats:
    """Return the cost of what no first book prints, for each grip."""
    only = (grips.frets > 0).sum(axis=1) == 1
    fret, finger = grips.frets.max(axis=1), grips.fingers.max(axis=1)
    off = np.abs(fret - grips.position + 1 - finger)
    # A dyad over an open string may be held from the second position: fingers 1 and 3 at 2 and 4.
    away = np.clip(grips.position - (2 if grips.new == _DYAD else 1), 0, 2)
    cost = only * (_AWAY * away + _OTHER_FINGER * off)
    if grips.new == 1:
        cost = cost + _line_cost(grips, reach)
    elif grips.new >= _FEW:
        cost = cost + _BARRE * _has_wide_barre(grips)
    return np.asarray(cost, dtype=np.float32)


def _line_cost(grips: Held, reach: Reach) -> Floats:
    """Return the cost of a stopped note that is open elsewhere, and of a re-entrant string."""
    midis = reach.open_midi
    returning = [s for s in reach.strings if s > 1 and midis[s - 1] > midis[s - 2]]
    opens = {midis[string - 1] for string in reach.strings if string not in returning}
    cost = _RETURNING * np.isin(grips.strings[:, 0], returning)
    if grips.midis[0] in opens and not reach.closed:
        cost = cost + _NOT_OPEN * (grips.frets[:, 0] > 0)
    return np.asarray(cost, dtype=np.float32)


def _has_wide_barre(grips: Held) -> npt.NDArray[np.bool_]:
    """Return whether one finger lies over three strings or more."""
    wide = np.zeros(len(grips.position), dtype=np.bool_)
    for finger in range(1, 5):
        mine = (grips.fingers == finger) & (grips.frets > 0)
        low = np.where(mine, grips.strings, 99).min(axis=1)
        wide |= np.where(mine, grips.strings, 0).max(axis=1) - low >= _WIDE_BARRE
    return wide


@lru_cache(maxsize=16)
def _known(open_midi: tuple[int, ...]) -> dict[tuple[int, ...], _Stops]:
    """Return the usual grip of each chord by its pitches, the one nearest the nut."""
    known: dict[tuple[int, ...], list[_Stops]] = {}
    low = open_midi[:-4:-1]
    if tuple(above - here for here, above in pairwise(low)) == _DROPPED:
        return _one_finger(open_midi)
    if len({here - there for here, there in zip(open_midi, STANDARD.open_midi, strict=False)}) > 1:
        return {}
    for shape in shapes():
        for up in range(_ROOTS if shape.is_movable else 1):
            stops = shape.grip.moved(up).stops
            for held in (stops, stops[:2]) if shape.kind == "power" else (stops,):
                midis = tuple(sorted(open_midi[string - 1] + fret for string, fret, _ in held))
                known.setdefault(midis, []).append(held)
    return {midis: min(found, key=_height) for midis, found in known.items()}


def _one_finger(open_midi: tuple[int, ...]) -> dict[tuple[int, ...], _Stops]:
    """Return the power chords that finger 1 holds over the two or three lowest strings."""
    known: dict[tuple[int, ...], _Stops] = {}
    for fret in range(1, _ROOTS + 1):
        held = tuple((len(open_midi) - up, fret, 1) for up in range(3))
        for stops in (held, held[:2]):
            known[tuple(sorted(open_midi[string - 1] + fret for string, _, _ in stops))] = stops
    return known


def _height(stops: _Stops) -> int:
    return max(fret for _, fret, _ in stops)


def usual_shapes(grips: Held, reach: Reach) -> Floats:
    """Return the bonus of the grip that every chord book prints, for each grip of a chord."""
    bonus = np.zeros(len(grips.position), dtype=np.float32)
    if grips.new < 2 or reach.closed or len(reach.open_midi) != len(STANDARD.open_midi):
        return bonus
    stops = _known(reach.open_midi).get(tuple(sorted(grips.midis[: grips.new])))
    if stops is None:
        return bonus
    place = {reach.open_midi[string - 1] + fret: (string, finger) for string, fret, finger in stops}
    same = np.ones(len(bonus), dtype=np.bool_)
    for column, midi in enumerate(grips.midis[: grips.new]):
        string, finger = place[midi]
        same &= (grips.strings[:, column] == string) & (grips.fingers[:, column] == finger)
    return (_USUAL_SHAPE * same).astype(np.float32)
