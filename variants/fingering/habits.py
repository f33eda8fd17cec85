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
from variants.fingering.passage import Convention, Settings
from variants.guitar.grip import Reach
from variants.guitar.shapes import shapes
from variants.guitar.tuning import STANDARD

Floats = npt.NDArray[np.float32]

# Two notes of a dyad or triad up to a fifth apart lie on strings side by side: a string between
# them has to be kept silent.
_SKIPPED, _SKIPPED_FIRST, _CLOSE_SEMITONES, _DYAD, _FEW = 2.0, 4.5, 7, 2, 3
# Music that fits into the first position is played there: a fret beyond costs, and where it is a
# plain tune or one chord of a book, the hand further up, a finger that is not that of its fret, and
# a note stopped that an open string has.
_HOME_FRETS, _BEYOND = 4, 1.5
_AWAY, _OTHER_FINGER, _NOT_OPEN = 1.5, 2.0, 6.0
# In music of several voices editors stand where the next notes want them: these two are as large as
# lets agreement with them grow (`benchmarks/fingering.md`); the hand may stand anywhere.
_OTHER_FINGER_OF_VOICES, _NOT_OPEN_OF_VOICES = 0.8, 2.0
# Two notes at one fret of neighbouring strings, where a player wants one finger or two for them.
_DYAD_WISH = 12.0
# Bassists' hand below fret 5, where four fingers do not cover four frets: 1, 2 and 4 cover three
# (the system of Simandl, *New Method for the Double Bass*; common practice on the bass guitar).
_LOW_FRETS, _THIRD_FINGER = 5, 8.0
# A mandolin's fingers have two frets each, as on a violin (common practice): strings in fifths, of
# less than so many mm; the first position ends at fret 7.
_FIFTH, _SHORT_MM, _PAIRS_HOME_FRETS, _OTHER_PAIR = 7, 450.0, 7, 8.0
# A broken chord whose harmony stands is held; a finger that leaves one of its strings costs.
_LEFT = 8.0
# In a fast run from position IX on the frets are narrow: one finger a fret (common practice).
_HIGH_POSITION, _HIGH_FINGER = 9, 1.0
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


def in_pairs(reach: Reach) -> bool:
    """Return whether each finger has a pair of frets, as on a mandolin."""
    midis = reach.open_midi
    is_fifths = all(here - there == _FIFTH for here, there in pairwise(midis))
    return len(midis) > 1 and is_fifths and reach.scale_mm < _SHORT_MM


def home_top(reach: Reach) -> int:
    """Return the highest sound of the first position.

    On string 1 it reaches one fret further than on the others: A4 ends many a first tune on a
    guitar (common practice).
    """
    return max(reach.open_midi) + (_PAIRS_HOME_FRETS if in_pairs(reach) else _HOME_FRETS + 1)


def beyond_home(grips: Held, reach: Reach) -> Floats:
    """Return the cost of leaving the first four frets, for each grip."""
    last = _PAIRS_HOME_FRETS if in_pairs(reach) else _HOME_FRETS
    beyond = grips.frets[:, : grips.new].max(axis=1) > last
    cost: Floats = (_BEYOND * beyond).astype(np.float32)
    return cost


def wished(grips: Held, settings: Settings) -> Floats:
    """Return the cost of what goes against the player's wishes, for each grip."""
    cost = np.zeros(len(grips.position), dtype=np.float32)
    if settings.convention == "one-two-four":
        third = ((grips.fingers == 3) & (grips.frets < _LOW_FRETS)).any(axis=1)
        cost += _THIRD_FINGER * third
    if settings.dyads != "either" and grips.new == _DYAD:
        low, high = grips.frets[:, 0], grips.frets[:, 1]
        near = np.abs(grips.strings[:, 0] - grips.strings[:, 1]) == 1
        one = grips.fingers[:, 0] == grips.fingers[:, 1]
        other = ~one if settings.dyads == "one-finger" else one
        cost += _DYAD_WISH * (near & (low == high) & (low > 0) & other)
    return cost


def high_run(grips: Held) -> Floats:
    """Return the cost of a fast single note high up with another finger than that of its fret."""
    if grips.new != 1:
        return np.zeros(len(grips.position), dtype=np.float32)
    fret, finger = grips.frets[:, 0], grips.fingers[:, 0]
    is_high = (grips.position >= _HIGH_POSITION) & (fret > 0)
    off = np.abs(fret - grips.position + 1 - finger)
    return np.asarray(_HIGH_FINGER * is_high * off, dtype=np.float32)


def left_strings(grips: Held) -> Floats:
    """Return the cost of fingers that leave the strings of a broken chord, for each grip."""
    gone = (grips.strings[:, grips.new :] == 0).sum(axis=1)
    return np.asarray(_LEFT * gone, dtype=np.float32)


def first_position(
    grips: Held, reach: Reach, *, is_plain: bool, convention: Convention = "own-fret"
) -> Floats:
    """Return the cost of what no first book prints, for each grip.

    Args:
        grips: The grips.
        reach: Instrument and hand.
        is_plain: In a tune without other voices; else in music of several voices.
        convention: Which finger takes fret 3.
    """
    only = (grips.frets > 0).sum(axis=1) == 1
    fret, finger = grips.frets.max(axis=1), grips.fingers.max(axis=1)
    own = fret - grips.position + 1
    if convention != "own-fret":
        own = own + ((own == 3) & (grips.position < _LOW_FRETS))
    off = np.abs(own - finger)
    # A dyad over an open string may be held from the second position: fingers 1 and 3 at 2 and 4.
    away = np.clip(grips.position - (2 if grips.new == _DYAD else 1), 0, 2)
    if in_pairs(reach):
        return np.asarray(_OTHER_PAIR * only * np.abs((fret + 1) // 2 - finger), dtype=np.float32)
    is_strict = is_plain or grips.new >= _FEW
    cost = only * ((_AWAY if is_strict else 0.0) * away)
    cost = cost + only * ((_OTHER_FINGER if is_strict else _OTHER_FINGER_OF_VOICES) * off)
    if grips.new == 1:
        not_open = _NOT_OPEN if is_plain else _NOT_OPEN_OF_VOICES
        cost = cost + _line_cost(grips, reach, not_open=not_open)
    elif grips.new >= _FEW:
        cost = cost + _BARRE * _has_wide_barre(grips)
    return np.asarray(cost, dtype=np.float32)


def _line_cost(grips: Held, reach: Reach, *, not_open: float) -> Floats:
    """Return the cost of a stopped note that is open elsewhere, and of a re-entrant string."""
    midis = reach.open_midi
    returning = [s for s in reach.strings if s > 1 and midis[s - 1] > midis[s - 2]]
    opens = {midis[string - 1] for string in reach.strings if string not in returning}
    cost = _RETURNING * np.isin(grips.strings[:, 0], returning)
    if grips.midis[0] in opens and not reach.closed:
        cost = cost + not_open * (grips.frets[:, 0] > 0)
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
