"""Is the editor's choice among our first two, and how sure may we be of the first?

    python -m benchmarks.fingering_second PIECES.jsonl [--open-strings usual] [--places given]

For each label, by weights that never saw its arrangement: its rank among the strings (and, where
the string agrees, the fingers) that good paths have at the note; and, by the share that the first
of them has, how often it is right (a reliability table).
"""

from __future__ import annotations

import argparse
from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import get_args

import numpy as np
import numpy.typing as npt

from benchmarks.fingering import FoldWeights, with_places, without_places
from benchmarks.fingering_data import STRONG, Piece, finger_mark, passage_of, read_pieces
from variants.fingering import Settings, UnplayableOnset
from variants.fingering.chain import Chain, chain_of
from variants.fingering.model import Model
from variants.fingering.passage import OpenStrings
from variants.fingering.search import Shares, all_moves, shares_of

_BINS = (0.0, 0.5, 0.7, 0.8, 0.9, 0.95, 0.99, 1.01)


def shared(
    piece: Piece, model: Model, settings: Settings, *, places_given: bool
) -> tuple[Chain, list[Shares], list[int]]:
    """Return the chain of a piece, the shares of each slot, and which notes are in it."""
    keep = list(range(len(piece["notes"])))
    while True:
        passage = passage_of(piece, keep=keep)
        if places_given:
            passage = with_places(piece, passage, keep)
        try:
            chain = chain_of(passage, settings, model)
        except UnplayableOnset as error:
            heads = error.notes
            if places_given and any(passage.notes[head].string for head in heads):
                piece = without_places(piece, [keep[head] for head in heads])
            else:
                keep.pop(heads[len(heads) // 2 if len(heads) > 2 else 0])
            continue
        return chain, shares_of(chain, all_moves(chain, model)), keep


def count(
    piece: Piece, chain: Chain, shares: list[Shares], keep: list[int], tally: Counter[str]
) -> None:
    """Count the labels of a piece."""
    for layer, share in zip(chain.layers, shares, strict=True):
        for column, index in enumerate(layer.slot.new):
            note = piece["notes"][keep[chain.sounds[index].heads[0]]]
            if note.get("grace"):
                continue
            strings = share.strings[column]
            order = np.argsort(-strings, kind="stable")
            if note["string"] is not None and note["string_src"] in STRONG:
                _add(tally, "string", order, float(strings[order[0]]), note["string"])
            mark = finger_mark(note)
            string = note["string"] or int(order[0])
            fingers = share.fingers[column][string * 8 : string * 8 + 8]
            if mark and fingers.sum() > 0:
                fingers = fingers / fingers.sum()
                ranked = np.argsort(-fingers, kind="stable")
                _add(tally, "finger", ranked, float(fingers[ranked[0]]), mark)


def _add(
    tally: Counter[str], kind: str, order: npt.NDArray[np.intp], best: float, label: int
) -> None:  # fmt: skip
    tally[kind] += 1
    tally[f"{kind} first"] += int(order[0]) == label
    tally[f"{kind} first two"] += label in order[:2].tolist()
    row = max(number for number, low in enumerate(_BINS) if best >= low)
    tally[f"{kind} bin {row}"] += 1
    tally[f"{kind} bin {row} right"] += int(order[0]) == label


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("truth", type=Path)
    parser.add_argument("--open-strings", choices=get_args(OpenStrings), default="allow")
    parser.add_argument("--places", choices=("free", "given"), default="free")
    args = parser.parse_args()
    weights, tally = FoldWeights(), Counter[str]()
    settings = replace(Settings(), open_strings=args.open_strings, repeat_alike=False)
    for piece in read_pieces(args.truth):
        model = weights.model_for(piece["id"])
        given = args.places == "given"
        count(piece, *shared(piece, model, settings, places_given=given), tally)
    for kind in ("string", "finger"):
        every = max(tally[kind], 1)
        first, two = tally[f"{kind} first"] / every, tally[f"{kind} first two"] / every
        print(f"{kind}: first {first:.3f}, among the first two {two:.3f} of {every}")
        for row, low in enumerate(_BINS[:-1]):
            size = tally[f"{kind} bin {row}"]
            right = tally[f"{kind} bin {row} right"] / max(size, 1)
            print(
                f"  share {low:.2f} to {min(_BINS[row + 1], 1.0):.2f}: right {right:.2f} of {size}"
            )


if __name__ == "__main__":
    main()
