"""The gradient of the conditional likelihood on a chunk of a piece, and the descent."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from benchmarks.research.fingering_train import Prepared, Recipe
from variants.fingering.features import OFFSETS, UNARY
from variants.fingering.model import SIZE, SLICES, Model
from variants.fingering.search import NEVER
from variants.fingering.tables import (
    FINGER_KINDS,
    FINGER_TIMES,
    HAND_KINDS,
    LEAD_KINDS,
    LINE_KINDS,
    TIMES,
)

Floats = npt.NDArray[np.floating[Any]]
_CONTEXTS = HAND_KINDS // TIMES
_STEPS = _CONTEXTS // 4
# A slot teaches something when a mark tells its states apart by more than this.
_TELLS = 3.0
# Slots kept around the marks of a chunk.
_AROUND = 8
# Chunks to a step.
_BATCH = 6


@dataclass(frozen=True, slots=True)
class Chunk:
    """Slots ``start`` to ``stop`` of a piece."""

    prep: Prepared
    start: int
    stop: int


def chunks_of(pieces: Sequence[Prepared], recipe: Recipe) -> list[Chunk]:
    """Return the stretches of the pieces that hold marks, with some slots around."""
    chunks = []
    for prep in pieces:
        tells = np.array([float(np.ptp(mark)) > _TELLS for mark in prep.marks])
        for start in range(0, len(tells), recipe.window):
            where = np.nonzero(tells[start : start + recipe.window])[0]
            if len(where):
                chunks.append(
                    Chunk(
                        prep,
                        start + max(0, int(where[0]) - _AROUND),
                        min(
                            start + int(where[-1]) + _AROUND + 1,
                            start + recipe.window,
                            len(tells),
                        ),
                    )
                )
    return chunks


class _Weights:
    """The weights of moves as small tables by category."""

    def __init__(self, weights: Floats) -> None:
        model = Model(weights.astype(np.float32))
        self.model = model
        step = np.tile(model.of("hand step"), 4)
        self.hand = [
            model.of("hand")[time * _CONTEXTS : (time + 1) * _CONTEXTS]
            + step
            + np.tile(model.of("hand time")[time * _STEPS : (time + 1) * _STEPS], 4)
            for time in range(TIMES)
        ]
        self.finger = model.of("finger").reshape(FINGER_TIMES, 4, FINGER_KINDS) + model.of(
            "finger any"
        ).reshape(FINGER_TIMES, 1, FINGER_KINDS)

    def states(self, prep: Prepared, slot: int) -> Floats:
        block = prep.chain.layers[slot].block
        own = self.model.of("unary")[block.features].sum(axis=1)
        own = own + block.reals @ self.model.of("reals")
        own = own + prep.context[slot] @ self.model.of("position")
        score: Floats = own + block.opens * float(prep.opens[slot] @ self.model.of("open"))
        return score

    def moves(self, prep: Prepared, slot: int) -> Floats:
        hand, fingers, lead, line, travel, mask = prep.moves[slot]
        time = prep.chain.layers[slot].time
        score: Floats = self.hand[time].take(hand) - self.model.of("travel")[time] * travel
        for number, kinds in enumerate(fingers):
            score += self.finger[int(time >= 2), number].take(kinds)
        score += self.model.of("lead").take(lead)
        score += self.model.of("line").take(line)
        if mask is not None:
            score[~mask] = NEVER
        return score


@dataclass(slots=True)
class _Sums:
    """Forward and backward sums, scaled, and the logarithm of the whole."""

    forward: list[Floats]
    ahead: list[Floats]
    log: float

    @classmethod
    def over(cls, unaries: Sequence[Floats], between: Sequence[Floats]) -> _Sums:
        local = [np.exp(unary - unary.max()) for unary in unaries]
        log = sum(float(unary.max()) for unary in unaries)
        forward = [local[0] / local[0].sum()]
        log += math.log(float(local[0].sum()))
        for index in range(1, len(local)):
            row = (forward[-1] @ between[index - 1]) * local[index]
            forward.append(row / row.sum())
            log += math.log(float(row.sum()))
        # ``ahead``: what lies at a slot and after it, given that slot's state.
        ahead = [local[-1]]
        for index in range(len(local) - 2, -1, -1):
            row = local[index] * (between[index] @ ahead[-1])
            ahead.append(row / row.max())
        return cls(forward, ahead[::-1], log)

    def states(self, slot: int, unaries: Sequence[Floats]) -> Floats:
        local = np.exp(unaries[slot] - unaries[slot].max())
        row = self.forward[slot] * self.ahead[slot] / np.maximum(local, 1e-30)
        result: Floats = row / row.sum()
        return result

    def moves(self, slot: int, between: Floats) -> Floats:
        table = self.forward[slot - 1][:, None] * self.ahead[slot][None, :] * between
        result: Floats = table / table.sum()
        return result


def add_gradient(chunk: Chunk, weights: _Weights, gradient: Floats) -> float:
    """Add a chunk's gradient of the log-likelihood; return the log-likelihood."""
    prep, slots = chunk.prep, range(chunk.start, chunk.stop)
    free = [weights.states(prep, slot) for slot in slots]
    told = [own + prep.marks[slot] for own, slot in zip(free, slots, strict=True)]
    between = []
    for slot in slots[1:]:
        moves = weights.moves(prep, slot)
        between.append(np.exp(moves - moves.max()))
    all_paths, agreeing = _Sums.over(free, between), _Sums.over(told, between)
    for number, slot in enumerate(slots):
        more = agreeing.states(number, told) - all_paths.states(number, free)
        _add_states(prep, slot, more * prep.weight, gradient)
        if number:
            step = between[number - 1]
            change = agreeing.moves(number, step) - all_paths.moves(number, step)
            _add_moves(prep, slot, change * prep.weight, gradient)
    return agreeing.log - all_paths.log


def _add_states(prep: Prepared, slot: int, more: Floats, gradient: Floats) -> None:
    block = prep.chain.layers[slot].block
    features = block.features
    gradient[SLICES["unary"]] += np.bincount(
        features.ravel(), weights=np.repeat(more, features.shape[1]), minlength=UNARY
    )
    gradient[SLICES["reals"]] += more @ block.reals
    gradient[SLICES["position"]] += more @ prep.context[slot]
    gradient[SLICES["open"]] += float(more @ block.opens) * prep.opens[slot]


def _add_moves(prep: Prepared, slot: int, change: Floats, gradient: Floats) -> None:
    hand, fingers, lead, line, travel, _ = prep.moves[slot]
    time = prep.chain.layers[slot].time
    slow = int(time >= 2)
    flat = change.ravel()
    hands = np.bincount(hand.ravel(), weights=flat, minlength=_CONTEXTS)
    gradient[SLICES["hand"]][time * _CONTEXTS : (time + 1) * _CONTEXTS] += hands
    steps = hands.reshape(4, _STEPS).sum(axis=0)
    gradient[SLICES["hand step"]] += steps
    gradient[SLICES["hand time"]][time * _STEPS : (time + 1) * _STEPS] += steps
    gradient[SLICES["travel"]][time] -= float((change * travel).sum())
    by_finger = gradient[SLICES["finger"]].reshape(FINGER_TIMES, 4, FINGER_KINDS)
    shared = gradient[SLICES["finger any"]].reshape(FINGER_TIMES, FINGER_KINDS)
    for number, kinds in enumerate(fingers):
        counts = np.bincount(kinds.ravel(), weights=flat, minlength=FINGER_KINDS)
        by_finger[slow, number] += counts
        shared[slow] += counts
    gradient[SLICES["lead"]] += np.bincount(lead.ravel(), weights=flat, minlength=LEAD_KINDS)
    gradient[SLICES["line"]] += np.bincount(line.ravel(), weights=flat, minlength=LINE_KINDS)


def fit(pieces: Sequence[Prepared], recipe: Recipe, start: Model, *, seed: int = 0) -> Model:
    """Return weights fitted to the marks of the pieces (Adam, Kingma 2015; the order is seeded)."""
    prior = start.weights.astype(np.float64)
    weights = prior.copy()
    mean, square, total = np.zeros(SIZE), np.zeros(SIZE), np.zeros(SIZE)
    decay = np.full(SIZE, recipe.decay * 0.02)
    decay[SLICES["line"]] *= recipe.line_decay
    decay[OFFSETS["pair"] : OFFSETS["chord interval"]] *= recipe.pair_decay
    chunks = chunks_of(pieces, recipe)
    batches = math.ceil(len(chunks) / _BATCH)
    shuffle = np.random.default_rng(seed)
    step = averaged = 0
    for epoch in range(recipe.epochs):
        order = shuffle.permutation(len(chunks))
        for begin in range(0, len(order), _BATCH):
            gradient = np.zeros(SIZE)
            tables = _Weights(weights)
            batch = order[begin : begin + _BATCH]
            for index in batch:
                add_gradient(chunks[index], tables, gradient)
            gradient -= decay * len(batch) * (weights - prior)
            step += 1
            rate = recipe.rate * (1 - 0.9 * step / (recipe.epochs * batches))
            mean = 0.9 * mean + 0.1 * gradient
            square = 0.99 * square + 0.01 * gradient**2
            move = mean / (1 - 0.9**step) / (np.sqrt(square / (1 - 0.99**step)) + 1e-8)
            weights = weights + rate * move
            if epoch >= recipe.epochs - 2:
                total += weights
                averaged += 1
    return Model((total / averaged).astype(np.float32))
