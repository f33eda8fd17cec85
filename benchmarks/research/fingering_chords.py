"""Fit the weights for full chords to published chord shapes: what is held, and by which fingers.

A softmax over the grips of the notes, with two goals of equal weight: the whole published grip
among all grips of the pitches, and its fingers among the fingerings of its places.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from benchmarks.fingering_data import Piece, passage_of
from variants.fingering.answer import UnplayableOnset
from variants.fingering.chain import chain_of
from variants.fingering.context import position_context
from variants.fingering.features import UNARY
from variants.fingering.lattice import MAX_POSITION
from variants.fingering.model import SIZE, SLICES, Model
from variants.fingering.passage import Settings

Floats = npt.NDArray[np.floating[Any]]
_BATCH = 32
_WHOLE = 10_000
EPOCHS, RATE, DECAY = 12, 0.05, 0.1


@dataclass(frozen=True, slots=True)
class Shape:
    """A published shape among all grips of its notes."""

    features: npt.NDArray[np.int32]
    reals: Floats
    context: Floats
    opens: npt.NDArray[np.int32]
    open_context: Floats
    placed: npt.NDArray[np.bool_]
    fingered: npt.NDArray[np.bool_]

    def scores(self, weights: Floats) -> Floats:
        """Return the score of each grip."""
        own = weights[SLICES["unary"]][self.features].sum(axis=1)
        own = own + self.reals @ weights[SLICES["reals"]]
        own = own + self.context @ weights[SLICES["position"]]
        total: Floats = own + self.opens * float(self.open_context @ weights[SLICES["open"]])
        return total


def shape_of(piece: Piece, model: Model) -> Shape | None:
    """Return a chord shape as arrays, or ``None`` where no grip of ours is the published one."""
    try:
        chain = chain_of(passage_of(piece), Settings(beam=_WHOLE), model)
    except UnplayableOnset:
        return None
    layer = chain.layers[0]
    grips = layer.block.grips
    position, opens = position_context((layer.slot,), chain.sounds, chain.reach)
    placed = np.ones(len(layer.block), dtype=np.bool_)
    fingered = placed.copy()
    for column, sound in enumerate(layer.slot.new):
        note = piece["notes"][chain.sounds[sound].heads[0]]
        placed &= grips.strings[:, column] == note["string"]
        if note["finger"] is not None:
            fingered &= grips.fingers[:, column] == int(note["finger"])
    if not (placed & fingered).any():
        return None
    where = np.minimum(grips.position, MAX_POSITION)
    block = layer.block
    return Shape(
        block.features, block.reals, position[0, where], block.opens, opens[0], placed, fingered
    )


def fit_chords(shapes: Sequence[Shape], start: Model, *, seed: int = 0) -> Floats:
    """Return weights for full chords, fitted from the weights of the pieces on."""
    prior = start.weights.astype(np.float64)
    weights = prior.copy()
    mean, square, total = np.zeros(SIZE), np.zeros(SIZE), np.zeros(SIZE)
    shuffle = np.random.default_rng(seed)
    batches = math.ceil(len(shapes) / _BATCH)
    step = averaged = 0
    for epoch in range(EPOCHS):
        order = shuffle.permutation(len(shapes))
        for begin in range(0, len(order), _BATCH):
            batch = order[begin : begin + _BATCH]
            gradient = np.zeros(SIZE)
            for index in batch:
                _add_gradient(shapes[index], weights, gradient)
            gradient -= DECAY * len(batch) / len(shapes) * (weights - prior)
            step += 1
            mean = 0.9 * mean + 0.1 * gradient
            square = 0.99 * square + 0.01 * gradient**2
            rate = RATE * (1 - 0.95 * step / (EPOCHS * batches))
            move = mean / (1 - 0.9**step) / (np.sqrt(square / (1 - 0.99**step)) + 1e-8)
            weights = weights + rate * move
            if epoch >= EPOCHS - 3:
                total += weights
                averaged += 1
    return (total / averaged).astype(np.float32)


def _add_gradient(shape: Shape, weights: Floats, gradient: Floats) -> None:
    scores = shape.scores(weights)
    likely = np.exp(scores - scores.max())
    wanted = likely * (shape.placed & shape.fingered)
    among_placed = likely * shape.placed
    more = 2 * wanted / wanted.sum() - likely / likely.sum() - among_placed / among_placed.sum()
    rows = np.abs(more) > 1e-6
    features = shape.features[rows]
    gradient[SLICES["unary"]] += np.bincount(
        features.ravel(), weights=np.repeat(more[rows], features.shape[1]), minlength=UNARY
    )
    gradient[SLICES["reals"]] += more @ shape.reals
    gradient[SLICES["position"]] += more @ shape.context
    gradient[SLICES["open"]] += float(more @ shape.opens) * shape.open_context
