"""What the model looks at in one grip: a list of active features and a few real numbers.

Each grip is described by indices into one weight vector (0 is no feature) and by real numbers in
units of the hand. Everything here depends on the notes of the grip alone, so that it is worked
out once for each sonority of a passage.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from variants.guitar.grip import Reach, span_limits

Ints = npt.NDArray[np.int32]
Floats = npt.NDArray[np.float32]

# Only, top, bottom, inner note of what sounds; single note alone, single note over held ones,
# two or three notes, four or more.
ROLES, CLASSES, STRINGS, FRET_BANDS, POSITION_BANDS = 4, 4, 6, 11, 13
_DEVIATIONS = 7
# A chord of four notes or more is also known as a whole, wherever it stands on the neck: its
# shape is hashed into so many features.
CHORD, SHAPES = 4, 4096
_FRET_BAND = np.array([0, 1, 2, 3, 4, 5, 6, 7, 8, 8, 9, 9, 9] + [10] * 30, dtype=np.int32)
_HEIGHT = np.array([0, 0, 0, 1, 1, 2, 2, 2] + [3] * 40, dtype=np.int32)
# No barre, two strings, three or four, more; two with another finger than the first, more.
_BARRE_KIND = np.array([[0, 0, 1, 2, 2] + [3] * 12, [0, 0, 4] + [5] * 14], dtype=np.int32)
# The side on which the higher finger lies: next string toward the treble, further, next toward
# the bass, further; indexed by the difference of the strings plus 16.
_SIDE = np.array([3] * 15 + [2, 3, 0] + [1] * 14, dtype=np.int32)
_POSITION_BAND = np.array([0, *range(12), *[12] * 30], dtype=np.int32)
_FINGERS = np.arange(1, 5)

_SIZES = {
    "null": 1,
    "role string open": ROLES * STRINGS * 2,
    "class fret": CLASSES * FRET_BANDS,
    "class finger deviation": CLASSES * 5 * _DEVIATIONS,
    "finger fret": 5 * 7,
    "string fret": STRINGS * FRET_BANDS,
    "string finger": STRINGS * 5,
    "string position": STRINGS * POSITION_BANDS,
    "role finger": ROLES * 5,
    "class position": CLASSES * POSITION_BANDS,
    "class fingers used": CLASSES * 5,
    "class barre": CLASSES * 6,
    "barre fret": 6 * 5,
    "class open": CLASSES * 5,
    "class open position": CLASSES * 4,
    "gaps": 2 * 5,
    "released": 4,
    "released ringing": 5,
    "pair": 2 * 6 * 6 * 4,
    "chord interval": 26 * 6,
    "chord gap": STRINGS * 6,
    "chord shape": SHAPES,
}
OFFSETS: dict[str, int] = {}
UNARY = 0
for _name, _size in _SIZES.items():
    OFFSETS[_name] = UNARY
    UNARY += _size
REALS = ("stretch", "stretch squared", "span", "deviation", "across")

_PAIR_INDEX = np.zeros((6, 6), dtype=np.int32)
for _number, (_a, _b) in enumerate(((1, 2), (1, 3), (1, 4), (2, 3), (2, 4), (3, 4))):
    _PAIR_INDEX[_a, _b] = _PAIR_INDEX[_b, _a] = _number


@dataclass(frozen=True, slots=True)
class Held:
    """Grips with the hand's position, a row each; the first ``new`` columns begin now.

    Args:
        strings: String of each note, 0 when a held note is let go.
        frets: Physical fret.
        fingers: Finger.
        position: Fret of the first finger.
        new: Number of columns that begin now.
        midis: MIDI number of each column.
        ringing: For each held column, whether it is written to end before.
    """

    strings: npt.NDArray[np.int16]
    frets: npt.NDArray[np.int16]
    fingers: npt.NDArray[np.int16]
    position: npt.NDArray[np.int16]
    new: int
    midis: tuple[int, ...]
    ringing: tuple[bool, ...] = ()


def size_class(new: int, held: int) -> int:
    """Return 0 for a note alone, 1 over held notes, 2 for two or three notes, 3 for more."""
    if new == 1:
        return 1 if held else 0
    return 2 if new <= 3 else 3


def role_of(column: int, new: int, midis: tuple[int, ...]) -> int:
    """Return whether a note is the only (0), top (1), bottom (2) or an inner one (3)."""
    if len(midis) == 1:
        return 0
    among = midis[:new] if new > 1 else midis
    if midis[column] == max(among):
        return 1
    return 2 if midis[column] == min(among) else 3


def describe(grips: Held, reach: Reach) -> tuple[Ints, Floats]:
    """Return feature indices (rows, features) and real numbers (rows, ``REALS``)."""
    columns: list[Ints] = []
    kind = size_class(grips.new, len(grips.midis) - grips.new - sum(grips.ringing))
    for column in range(grips.new):
        columns += _note(grips, column, kind)
    columns += _whole(grips, kind)
    pairs, reals = _pairs(grips, reach)
    columns += pairs
    if grips.new >= CHORD:
        columns += _chord(grips)
    features = np.empty((len(columns), len(grips.position)), dtype=np.int32)
    for number, one in enumerate(columns):
        features[number] = one
    return np.ascontiguousarray(features.T), reals


def _note(grips: Held, column: int, kind: int) -> list[Ints]:
    string = np.minimum(grips.strings[:, column].astype(np.int32), STRINGS) - 1
    fret = grips.frets[:, column].astype(np.int32)
    finger = np.minimum(grips.fingers[:, column].astype(np.int32), 4)
    position = grips.position.astype(np.int32)
    stopped = fret > 0
    role = role_of(column, grips.new, grips.midis)
    band = _FRET_BAND[fret]
    deviation = np.clip(fret - position - finger + 1, -3, 3) + 3
    at = OFFSETS
    return [
        at["role string open"] + (role * STRINGS + string) * 2 + ~stopped,
        at["class fret"] + kind * FRET_BANDS + band,
        np.where(
            stopped,
            at["class finger deviation"] + (kind * 5 + finger) * _DEVIATIONS + deviation,
            0,
        ),
        at["finger fret"] + finger * 7 + np.minimum(fret, 6),
        at["string fret"] + string * FRET_BANDS + band,
        at["string finger"] + string * 5 + finger,
        np.where(
            stopped, at["string position"] + string * POSITION_BANDS + _POSITION_BAND[position], 0
        ),
        at["role finger"] + role * 5 + finger,
    ]


def _whole(grips: Held, kind: int) -> list[Ints]:
    at = OFFSETS
    sounding = grips.strings > 0
    position = grips.position.astype(np.int32)
    band = _POSITION_BAND[position]
    barre, barre_fret = np.zeros_like(position), np.zeros_like(position)
    by_finger = grips.fingers[:, :, None] == _FINGERS
    holds = by_finger.sum(axis=1)
    used = (holds > 0).sum(axis=1)
    for finger in np.nonzero((holds > 1).any(axis=0))[0]:
        type_ = _BARRE_KIND[int(finger > 0)][holds[:, finger]]
        fret = (grips.frets * by_finger[:, :, finger]).max(axis=1)
        barre_fret = np.where(type_ > barre, np.minimum(fret, 4), barre_fret)
        barre = np.maximum(barre, type_)
    new_open = ((grips.frets == 0) & sounding)[:, : grips.new].sum(axis=1).astype(np.int32)
    high = _HEIGHT[position]
    big = 1 if grips.new >= 4 else 0
    low = np.where(sounding, grips.strings, 99).min(axis=1)
    gaps = grips.strings.max(axis=1) - low + 1 - sounding.sum(axis=1)
    ringing = np.array([False] * grips.new + list(grips.ringing))
    released = (~sounding[:, ~ringing]).sum(axis=1)
    gone = (~sounding[:, ringing]).sum(axis=1)
    return [
        at["class position"] + kind * POSITION_BANDS + band,
        at["class fingers used"] + kind * 5 + used,
        at["class barre"] + kind * 6 + barre,
        np.where(barre > 0, at["barre fret"] + barre * 5 + barre_fret, 0),
        at["class open"] + kind * 5 + np.minimum(new_open, 4),
        np.where(new_open > 0, at["class open position"] + kind * 4 + high, 0),
        at["gaps"] + big * 5 + np.clip(gaps, 0, 4),
        np.where(released > 0, at["released"] + np.minimum(released, 3), 0),
        np.where(gone > 0, at["released ringing"] + np.minimum(gone, 4), 0),
    ]


def _pairs(grips: Held, reach: Reach) -> tuple[list[Ints], Floats]:
    count = grips.strings.shape[1]
    rows = len(grips.position)
    reals = np.zeros((rows, len(REALS)), dtype=np.float32)
    limits = span_limits(reach.hand)
    fret_mm = (1.0 - 2.0 ** (-np.arange(40) / 12.0)) * reach.scale_mm
    big = 1 if grips.new >= 4 else 0
    columns = []
    for a in range(count):
        for b in range(a + 1, count):
            index, ratio, span = _pair(grips, (a, b), limits, fret_mm)
            columns.append(np.where(index >= 0, OFFSETS["pair"] + index + big * 144, 0))
            reals[:, 0] = np.maximum(reals[:, 0], ratio)
            reals[:, 2] = np.maximum(reals[:, 2], span / 100.0)
    reals[:, 1] = np.maximum(reals[:, 0] - 0.5, 0) ** 2
    stopped = grips.frets > 0
    off = grips.frets - grips.position[:, None] - grips.fingers + 1
    reals[:, 3] = (np.abs(off) * stopped).sum(axis=1)
    wide = np.where(stopped, grips.strings, 0).max(axis=1)
    near = np.where(stopped, grips.strings, 99).min(axis=1)
    reals[:, 4] = np.maximum(wide - near, 0) / 5.0
    return columns, reals


def _chord(grips: Held) -> list[Ints]:
    """The whole shape, and how many strings lie under each interval between neighbours."""
    order = sorted(range(grips.new), key=lambda column: grips.midis[column])
    columns = []
    for low, high in pairwise(order):
        interval = min(grips.midis[high] - grips.midis[low], 25)
        gap = np.clip(grips.strings[:, low] - grips.strings[:, high], -1, 4).astype(np.int32) + 1
        at = np.clip(grips.strings[:, low].astype(np.int32), 1, STRINGS) - 1
        columns.append(OFFSETS["chord interval"] + interval * 6 + gap)
        columns.append(OFFSETS["chord gap"] + at * 6 + gap)
    frets, fingers = grips.frets.astype(np.int64), grips.fingers.astype(np.int64)
    lowest = np.where(frets > 0, frets, 99).min(axis=1)
    total = np.zeros(len(frets), dtype=np.int64)
    for column in range(grips.new):
        rise = np.where(frets[:, column] > 0, frets[:, column] - lowest + 1, 0)
        code = rise * 8 + fingers[:, column]
        total += _string_factor(grips.strings[:, column]) * (code + 1)
    mixed = (total ^ (total >> 15)) * 40503 % 1_000_003
    columns.append((OFFSETS["chord shape"] + mixed % SHAPES).astype(np.int32))
    return columns


def _string_factor(strings: npt.NDArray[np.int16]) -> npt.NDArray[np.int64]:
    factors = np.array([1, 7919, 104_729, 15_485, 324_528, 67_867, 86_028, 1_299, 179_424, 15_731])
    result: npt.NDArray[np.int64] = factors[np.minimum(strings, 9)]
    return result


def _pair(
    grips: Held, pair: tuple[int, int], limits: npt.NDArray[np.float64], mm: npt.NDArray[np.float64]
) -> tuple[Ints, Floats, Floats]:
    a, b = pair
    frets, fingers = grips.frets.astype(np.int32), grips.fingers.astype(np.int32)
    fa, fb = np.minimum(fingers[:, a], 4), np.minimum(fingers[:, b], 4)
    both = (fa > 0) & (fb > 0)
    first = (fa < fb) | ((fa == fb) & (grips.strings[:, a] > grips.strings[:, b]))
    gap = np.where(first, frets[:, b] - frets[:, a], frets[:, a] - frets[:, b])
    side = np.where(
        first, grips.strings[:, a] - grips.strings[:, b], grips.strings[:, b] - grips.strings[:, a]
    )
    side_kind = _SIDE[np.clip(side, -15, 15) + 16]
    index = (_PAIR_INDEX[fa, fb] * 6 + np.clip(gap, 0, 5)) * 4 + side_kind
    index = np.where(both & (fa != fb), index, -1)
    span = np.abs(mm[frets[:, a]] - mm[frets[:, b]]) * both
    ratio = span / limits[fa, fb] * (fa != fb)
    return index.astype(np.int32), ratio.astype(np.float32), span.astype(np.float32)
