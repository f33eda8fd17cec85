"""The score of each state: what the model, the player's wishes and the habits of teachers say."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from variants.fingering.context import at_home, is_plain, position_context
from variants.fingering.habits import (
    beyond_home,
    first_position,
    high_run,
    left_strings,
    skipped_strings,
    usual_shapes,
    wished,
)
from variants.fingering.lattice import MAX_POSITION, Block
from variants.fingering.model import Model
from variants.fingering.passage import Settings
from variants.fingering.sounds import HandSound, Slot
from variants.fingering.tables import time_class
from variants.guitar.grip import Reach

Floats = npt.NDArray[np.float32]

_OPEN_BIAS = {"prefer": 2.0, "avoid": -8.0, "allow": 0.0, "usual": 0.0}
# In music of the first position, by the number of notes that begin; and beyond a wished position.
_USUAL_HOME, _USUAL_HIGH = (0.0, 2.2, 0.7, 2.2), -3.0
# Cost for each fret away from a wished position; a fret to either side is nearly as good.
_WISH, _NEAR = 1.5, 1.0


class Around:
    """What the notes around each slot say, worked out once for a passage."""

    def __init__(
        self, slots: tuple[Slot, ...], sounds: tuple[HandSound, ...], reach: Reach
    ) -> None:
        self.position, self.opens = position_context(slots, sounds, reach)
        self.home = at_home(slots, sounds, reach)
        self.plain = is_plain(slots)
        self.broken = tuple(slot.broken for slot in slots)
        self.fast = tuple(not time_class(slot.seconds, rest=slot.rest) for slot in slots)
        self.reach = reach


class Scores:
    """Scores of states, by themselves and among the notes around."""

    def __init__(self, model: Model, around: Around, settings: Settings) -> None:
        self._unary, self._reals = model.of("unary"), model.of("reals")
        self._settings = settings
        self._around = around
        with no_false_alarm():
            self._by_position = around.position @ model.of("position")
            self._by_open = around.opens @ model.of("open") + _open_bias(settings)
        self._lean = model.lean_at(MAX_POSITION + 1)
        self._home: dict[tuple[int, bool], Floats] = {}
        # As a first version for a pupil has it.
        self._is_usual = settings.is_usual
        self._is_first = self._is_usual and (settings.position or 1) == 1

    def own(self, block: Block) -> Floats:
        """Return the score of each state by itself."""
        scores: Floats = self._unary[block.features].sum(axis=1)
        with no_false_alarm():
            scores = scores + block.reals @ self._reals
        scores = scores + _wishes(block, self._settings) - wished(block.grips, self._settings)
        scores = scores - skipped_strings(block.grips, is_first=self._is_first)
        if self._is_first:
            scores = scores + usual_shapes(block.grips, self._around.reach)
        return scores

    def context(self, block: Block, slot: int) -> Floats:
        """Return what the notes around a slot add to that."""
        where = np.minimum(block.grips.position, MAX_POSITION)
        by_open = self._by_open[slot] + self._lean[where]
        if self._is_first and self._around.home[slot]:
            by_open = by_open + _USUAL_HOME[min(block.grips.new, 3)]
        score: Floats = self._by_position[slot, where] + by_open * block.opens
        if self._around.broken[slot]:
            score = score - left_strings(block.grips)
        if self._is_usual and self._around.fast[slot]:
            score = score - high_run(block.grips)
        return score - self._at_home(block, slot) if self._around.home[slot] else score

    def _at_home(self, block: Block, slot: int) -> Floats:
        plain = bool(self._around.plain[slot])
        if (id(block), plain) not in self._home:
            cost = beyond_home(block.grips, self._around.reach)
            if self._is_first:
                cost = cost + first_position(
                    block.grips,
                    self._around.reach,
                    is_plain=plain,
                    convention=self._settings.convention,
                )
            self._home[id(block), plain] = cost
        return self._home[id(block), plain]


def no_false_alarm() -> np.errstate:
    """Return a context for products of matrices.

    On some processors numpy's products read past the end of their rows and report floating point
    errors of what they found there, though no result has any.
    """
    return np.errstate(invalid="ignore", divide="ignore", over="ignore")


def _open_bias(settings: Settings) -> float:
    """Return the bonus of an open string that the player's wish makes."""
    if settings.open_strings == "usual" and (settings.position or 1) > 1:
        return _USUAL_HIGH
    return _OPEN_BIAS[settings.open_strings]


def _wishes(block: Block, settings: Settings) -> Floats:
    scores = np.zeros(len(block), dtype=np.float32)
    if settings.position is not None:
        away = np.minimum(np.abs(block.grips.position - settings.position), 6)
        scores -= np.maximum(_WISH * away - _NEAR * (away > 0), 0)
    if settings.strings is not None:
        new = block.grips.strings[:, : block.grips.new]
        scores -= 2 * _WISH * (~np.isin(new, settings.strings)).sum(axis=1)
    return scores
