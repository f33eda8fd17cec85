"""Fit the weights of the fingering engine, cross-validated by arrangement.

``python -m benchmarks.research.fingering_fit PIECES.jsonl CHORDS.jsonl [--jobs N]``

Writes ``variants/fingering/weights.npz`` (fitted to everything) and
``fingering_folds.npz`` beside this file (one set a fold, each fitted without that fold). The data
are not part of the project. Everything is seeded: the same data and numpy give the same weights.
"""

from __future__ import annotations

import argparse
import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from benchmarks.fingering import FOLDS_FILE
from benchmarks.fingering_data import (
    FOLDS,
    arrangement,
    chord_fold,
    editors_with_numerals,
    folds_of,
    read_pieces,
)
from benchmarks.research.fingering_chords import Shape, fit_chords, shape_of
from benchmarks.research.fingering_gradient import fit
from benchmarks.research.fingering_train import Prepared, Recipe, marked, prepared
from benchmarks.research.hand_set import hand_set
from variants.fingering.model import WEIGHTS_FILE, Floats, Model

# The mean of the weights of two recipes is fitted less to the noise than either.
RECIPES = (
    Recipe(),
    Recipe(position=0.2, line_decay=10.0, pair_decay=4.0, epochs=4, heavy=100),
)
# A bonus for each open string by the position of the hand, from position 0 (unused) on. Editors
# mark stopped notes far more often than open ones, so that learning drives open strings out; and
# the open notes that they do mark lie in the first positions. The shape follows the counts of
# marked open notes by Roman numeral; its size is the one number chosen on the cross-validated
# answers, as one that keeps nine marked open notes in ten with a little to spare.
LEAN_SHAPE = (1.0, 1.0, 1.0, 0.4, 0.0, -0.3) + (-0.5,) * 19
LEAN_SIZE = 0.9


_ready: list[Prepared] = []


def make_ready(pieces_path: Path) -> None:
    """Prepare all pieces, once in each process."""
    start = hand_set()
    pieces = read_pieces(pieces_path)
    numbering = editors_with_numerals(pieces)
    _ready[:] = [
        prepared(piece, start, numerals=(piece.get("editor") or "") in numbering)
        for piece in pieces
    ]


def piece_weights(fold: int | None) -> Floats:
    """Return the mean weights of the recipes, fitted without a fold, or to everything."""
    folds = folds_of([prep.piece for prep in _ready])
    used = [prep for prep in _ready if folds[arrangement(prep.piece["id"])] != fold]
    found = [
        fit([marked(prep, recipe) for prep in used], recipe, hand_set()).weights
        for recipe in RECIPES
    ]
    mean: Floats = np.mean(found, axis=0).astype(np.float32)
    return mean


def chord_shapes(chords_path: Path) -> dict[int, list[Shape]]:
    """Return the published shapes that are among our grips, by fold."""
    shapes: dict[int, list[Shape]] = {fold: [] for fold in range(FOLDS)}
    start = hand_set()
    for piece in read_pieces(chords_path):
        shape = shape_of(piece, start)
        if shape is not None:
            shapes[chord_fold(piece["id"])].append(shape)
    return shapes


def chord_weights(start: Floats, shapes: dict[int, list[Shape]], *, fold: int | None) -> Floats:
    """Return the weights for full chords, fitted without the roots of a fold, or to all."""
    used = [shape for number in shapes if number != fold for shape in shapes[number]]
    return fit_chords(used, Model(start))


def main() -> None:
    """Fit, and write both files."""
    parser = argparse.ArgumentParser(description="Fit the fingering weights.")
    parser.add_argument("pieces", type=Path)
    parser.add_argument("chords", type=Path)
    parser.add_argument("--jobs", type=int, default=2)
    args = parser.parse_args()
    order: list[int | None] = [None, *range(FOLDS)]
    with ProcessPoolExecutor(
        args.jobs, get_context("spawn"), initializer=make_ready, initargs=(args.pieces,)
    ) as pool:
        weights = list(pool.map(piece_weights, order))
    write(weights, pieces_path=args.pieces, chords_path=args.chords)


def write(weights: list[Floats], *, pieces_path: Path, chords_path: Path) -> None:
    """Fit the chords and write both files.

    Args:
        weights: Weights fitted to all pieces, then those without each fold.
        pieces_path: The pieces.
        chords_path: The chord shapes.
    """
    shapes = chord_shapes(chords_path)
    chords = [chord_weights(one, shapes, fold=None) for one in weights]
    without = [chord_weights(weights[0], shapes, fold=fold) for fold in range(FOLDS)]
    lean = np.array(LEAN_SHAPE, dtype=np.float32) * LEAN_SIZE
    half = [one.astype(np.float16) for one in (weights[0], chords[0], lean)]
    np.savez_compressed(WEIGHTS_FILE, weights=half[0], chord=half[1], lean=half[2])
    folds = folds_of(read_pieces(pieces_path))
    np.savez_compressed(
        FOLDS_FILE,
        weights=np.stack(weights[1:]).astype(np.float16),
        chord=np.stack(chords[1:]).astype(np.float16),
        chord_folds=np.stack(without).astype(np.float16),
        lean=half[2],
        names=np.array(list(folds)),
        folds=np.array(list(folds.values())),
    )


if __name__ == "__main__":
    main()
