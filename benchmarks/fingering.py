"""Predict strings and fingers for a JSON-lines file of pieces or chord shapes.

    python -m benchmarks.fingering DATA.jsonl -o PREDICTED.jsonl
        [--places given] [--open-strings WISH]

Each piece is predicted by weights that never saw its arrangement: those of its fold in
``fingering_folds.npz`` where the fit knew the arrangement, the weights of the package otherwise.
With ``--places given`` the strings that the data give are taken as fixed. The wish about open
strings is ``allow`` unless it is named, as editors of classical pieces have them. Notes that no
hand can hold get ``null``. The output has the notes in the same order, for the measure that
scores it.
"""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np

from benchmarks.fingering_data import (
    FOLDS,
    Piece,
    arrangement,
    chord_fold,
    passage_of,
    read_pieces,
)
from variants.fingering import FingeredNote, Passage, Settings, UnplayableOnset
from variants.fingering.model import SIZE, Floats, Model, fitted
from variants.fingering.passage import OpenStrings
from variants.fingering.solve import solve

FOLDS_FILE = Path(__file__).with_name("research") / "fingering_folds.npz"


ALLOW = Settings()


class FoldWeights:
    """The weights of each fold, and which arrangement each fold left out."""

    def __init__(self, path: Path = FOLDS_FILE) -> None:
        with np.load(path) as stored:
            part = {name: stored[name] for name in stored.files}
        lean = part["lean"].astype(np.float32)
        self._pieces = _models(part["weights"], part["chord"], lean)
        shared = np.broadcast_to(fitted().weights, (FOLDS, SIZE))
        self._chords = _models(shared, part["chord_folds"], lean)
        self._fold = dict(zip(part["names"].tolist(), part["folds"].tolist(), strict=True))

    def model_for(self, piece_id: str) -> Model:
        """Return weights that were fitted without the arrangement, or the root, of a piece."""
        if piece_id.startswith("chordsdb:"):
            return self._chords[chord_fold(piece_id)]
        fold = self._fold.get(arrangement(piece_id))
        return fitted() if fold is None else self._pieces[fold]


def _models(weights: Floats, chords: Floats, lean: Floats) -> list[Model]:
    return [
        Model(one.astype(np.float32), lean, chord.astype(np.float32))
        for one, chord in zip(weights, chords, strict=True)
    ]


def predict(
    piece: Piece,
    model: Model,
    *,
    places_given: bool,
    wishes: Settings = ALLOW,
    bar: float = 0.0,
) -> list[FingeredNote | None]:
    """Return the place and finger of each note of a piece, ``None`` where no hand can hold it."""
    keep = list(range(len(piece["notes"])))
    settings = replace(wishes, repeat_alike=False)
    while True:
        passage = passage_of(piece, keep=keep, bar=bar)
        if places_given:
            passage = with_places(piece, passage, keep)
        try:
            found = solve(passage, settings, model).notes
        except UnplayableOnset as error:
            heads = error.notes
            if places_given and any(passage.notes[head].string for head in heads):
                piece = without_places(piece, [keep[head] for head in heads])
            else:
                keep.pop(heads[len(heads) // 2 if len(heads) > 2 else 0])
            continue
        out: list[FingeredNote | None] = [None] * len(piece["notes"])
        for index, place in zip(keep, found, strict=True):
            out[index] = place
        return out


def with_places(piece: Piece, passage: Passage, keep: list[int]) -> Passage:
    """Return the passage with the strings of the data as hard constraints."""
    return replace(
        passage,
        notes=tuple(
            replace(note, string=piece["notes"][index]["string"])
            for note, index in zip(passage.notes, keep, strict=True)
        ),
    )


def without_places(piece: Piece, indices: list[int]) -> Piece:
    """Return a piece in which some notes have no string; a hand within our laws cannot hold it."""
    notes = [
        {**note, "string": None} if index in indices else note
        for index, note in enumerate(piece["notes"])
    ]
    return {**piece, "notes": notes}


def main() -> None:
    """Write the predictions."""
    parser = argparse.ArgumentParser(description="Predict strings and fingers.")
    parser.add_argument("data", type=Path)
    parser.add_argument("-o", "--output", type=Path, required=True)
    parser.add_argument("--places", choices=("free", "given"), default="free")
    parser.add_argument("--open-strings", choices=get_args(OpenStrings), default="allow")
    args = parser.parse_args()
    given = args.places == "given"
    weights = FoldWeights()
    with args.output.open("w", encoding="utf-8") as lines:
        for piece in read_pieces(args.data):
            model = weights.model_for(piece["id"])
            found = predict(
                piece, model, places_given=given, wishes=Settings(open_strings=args.open_strings)
            )
            notes = [
                {"string": None, "fret": None, "finger": None}
                if place is None
                else {"string": place.string, "fret": place.fret, "finger": place.finger}
                for place in found
            ]
            row = {"id": piece["id"], "tuning_midi": piece["tuning_midi"], "notes": notes}
            lines.write(json.dumps(row) + "\n")


if __name__ == "__main__":
    main()
