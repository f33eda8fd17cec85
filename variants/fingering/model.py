"""The weights of the model and the tables that they make."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from variants.fingering.context import OPEN_REALS, POSITION_REALS
from variants.fingering.features import REALS, UNARY
from variants.fingering.lattice import MAX_POSITION
from variants.fingering.tables import (
    FINGER_KINDS,
    FINGER_TIMES,
    HAND_KINDS,
    HANDS,
    LEAD_KINDS,
    LINE_KINDS,
    TIMES,
    finger_moves,
    hand_steps,
    lead_moves,
)

Floats = npt.NDArray[np.float32]

WEIGHTS_FILE = Path(__file__).with_name("weights.npz")
# Editors mark where the hand moves and leave the rest: what they mark makes moves look commoner
# than they are. These costs are set by hand to weigh against that.
_SHIFT, _SLIDE = 0.25, 0.4
_SLIDES = (4, 5, 6, 7, 10, 11, 12)
HAND_STEPS = HAND_KINDS // (TIMES * 4)
_FAMILIES = {
    "unary": UNARY,
    "reals": len(REALS),
    "position": POSITION_REALS,
    "open": OPEN_REALS,
    "hand": HAND_KINDS,
    "hand step": HAND_STEPS,
    "hand time": TIMES * HAND_STEPS,
    "travel": TIMES,
    "finger": 4 * FINGER_TIMES * FINGER_KINDS,
    "finger any": FINGER_TIMES * FINGER_KINDS,
    "lead": LEAD_KINDS,
    "line": LINE_KINDS,
}
SLICES: dict[str, slice] = {}
SIZE = 0
for _name, _size in _FAMILIES.items():
    SLICES[_name] = slice(SIZE, SIZE + _size)
    SIZE += _size


@dataclass(frozen=True, slots=True)
class Tables:
    """Weights of moves, ready to be looked up; higher is better.

    Args:
        hand: (time, hand before * HANDS + hand after).
        finger: (time, finger, place before * CODES + place after).
        lead: (place before * CODES + place after).
        line: (relation of the places + finger before * 5 + finger after).
    """

    hand: Floats
    finger: Floats
    lead: Floats
    line: Floats


@dataclass(frozen=True, slots=True)
class Model:
    """Weights in one vector, cut into families by ``SLICES``; higher is better.

    Args:
        weights: The weights.
        lean: Bonus for each open string, by the position of the hand; empty for none.
        chord: Weights that score the grips of full chords in place of ``weights``; empty for none.
    """

    weights: Floats
    lean: Floats = field(default_factory=lambda: np.zeros(0, dtype=np.float32))
    chord: Floats = field(default_factory=lambda: np.zeros(0, dtype=np.float32))

    def for_chords(self) -> Model:
        """Return the model that scores the grips of full chords."""
        return Model(self.chord, self.lean) if len(self.chord) else self

    def lean_at(self, positions: int) -> Floats:
        """Return the bonus for an open string at positions 0 to ``positions - 1``."""
        out = np.zeros(positions, dtype=np.float32)
        out[: len(self.lean)] = self.lean[:positions]
        return out

    def of(self, family: str) -> Floats:
        """Return the weights of a family."""
        return self.weights[SLICES[family]]

    def tables(self, open_midi: tuple[int, ...], scale_mm: float) -> Tables:
        """Return the tables of moves for a tuning and a scale length in mm."""
        steps = hand_steps()
        by_time = []
        travel = travel_mm(scale_mm) / 100.0
        for time in range(TIMES):
            whole = self.of("hand")[time * 4 * HAND_STEPS : (time + 1) * 4 * HAND_STEPS]
            table = whole[steps] + self.of("hand step")[steps % HAND_STEPS]
            table = table + self.of("hand time")[time * HAND_STEPS + steps % HAND_STEPS]
            table = table - _SHIFT * (steps % HAND_STEPS != 0)
            by_time.append((table - self.of("travel")[time] * travel).ravel())
        moves = finger_moves()
        fingers = self.of("finger").reshape(FINGER_TIMES, 4, FINGER_KINDS)
        shared = self.of("finger any").reshape(FINGER_TIMES, 1, FINGER_KINDS)
        shared = shared - _SLIDE * np.isin(np.arange(FINGER_KINDS), _SLIDES)
        finger = (fingers + shared)[:, :, moves.ravel()]
        lead = self.of("lead")[lead_moves(open_midi)].ravel()
        return Tables(
            np.stack(by_time).astype(np.float32),
            np.ascontiguousarray(finger, dtype=np.float32),
            np.ascontiguousarray(lead, dtype=np.float32),
            np.ascontiguousarray(self.of("line"), dtype=np.float32),
        )


@lru_cache(maxsize=8)
def travel_mm(scale_mm: float) -> Floats:
    """Return the mm between the positions of each two hands, shape (HANDS, HANDS)."""
    position = np.arange(HANDS) // 2
    at = scale_mm * (1.0 - 2.0 ** (-np.minimum(position, MAX_POSITION + 1) / 12.0))
    return np.abs(at[:, None] - at[None, :]).astype(np.float32)


@lru_cache(maxsize=1)
def fitted() -> Model:
    """Return the weights that come with the package (`benchmarks.research.fingering_fit`)."""
    with np.load(WEIGHTS_FILE) as stored:
        return Model(*(stored[name].astype(np.float32) for name in ("weights", "lean", "chord")))


@lru_cache(maxsize=8)
def fitted_tables(open_midi: tuple[int, ...], scale_mm: float) -> Tables:
    """Return the tables of moves of the weights that come with the package."""
    return fitted().tables(open_midi, scale_mm)
