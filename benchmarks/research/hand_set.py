"""Fingering weights set by hand: where every fit begins."""

from __future__ import annotations

import numpy as np

from variants.fingering.features import OFFSETS
from variants.fingering.model import HAND_STEPS, SIZE, SLICES, Floats, Model
from variants.fingering.tables import FINGER_KINDS, FINGER_TIMES


def hand_set() -> Model:
    """Return weights set by hand from the trade's rules, the start of every fit."""
    weights = np.zeros(SIZE, dtype=np.float32)
    unary = weights[SLICES["unary"]]
    _set_notes(unary)
    _set_grips(unary)
    weights[SLICES["reals"]] = (-0.6, -4.0, -0.8, -0.25, -0.1)
    step = weights[SLICES["hand step"]]
    for number in range(HAND_STEPS):
        size = number if number < 10 else number - 9
        step[number] = -0.0 if number == 0 else -1.0 - 0.25 * size
    weights[SLICES["travel"]] = (1.2, 0.8, 0.5, 0.3)
    shared = weights[SLICES["finger any"]].reshape(FINGER_TIMES, FINGER_KINDS)
    shared[:, 3] = 0.8
    shared[:, 4:8] = (-0.2, -0.2, -0.4, -0.7)
    shared[:, 8:14] = (-0.2, -0.8, -1.0, -1.0, -1.0, 0.4)
    lead = weights[SLICES["lead"]]
    lead[44:46] = (0.8, -0.8)
    return Model(weights)


def _set_notes(unary: Floats) -> None:
    start = OFFSETS["class finger deviation"]
    by_finger = unary[start : start + 4 * 5 * 7].reshape(4, 5, 7)
    by_finger[:, 1:] = np.array([-2.5, -1.5, -0.6, 0.0, -1.2, -2.5, -4.0])
    by_finger[:, 1] += 0.1
    by_finger[:, 4] -= 0.15
    start = OFFSETS["class fret"]
    unary[start : start + 44].reshape(4, 11)[:] = -0.04 * np.arange(11)
    start = OFFSETS["class open position"]
    unary[start : start + 16].reshape(4, 4)[:] = (0.0, -0.1, -0.3, -0.6)
    start = OFFSETS["class open"]
    unary[start : start + 20].reshape(4, 5)[:] = 0.5 * np.arange(5)


def _set_grips(unary: Floats) -> None:
    start = OFFSETS["class position"]
    unary[start : start + 52].reshape(4, 13)[:] = -0.06 * np.arange(13)
    start = OFFSETS["class fingers used"]
    unary[start : start + 20].reshape(4, 5)[:] = -0.2 * np.arange(5)
    start = OFFSETS["class barre"]
    unary[start : start + 24].reshape(4, 6)[:] = (0.0, -0.7, -0.9, -0.9, -1.2, -2.0)
    start = OFFSETS["released"]
    unary[start : start + 4] = (0.0, -1.5, -3.0, -4.5)
    start = OFFSETS["released ringing"]
    unary[start : start + 5] = (0.0, -0.3, -0.6, -0.8, -1.0)
