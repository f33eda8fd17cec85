"""Report predictions editor by editor, and which published chord shapes no grip of ours is.

``python -m benchmarks.fingering_report PIECES.jsonl PREDICTED.jsonl [--chords CHORDS.jsonl]``
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path

from benchmarks.fingering_chords import shape_of
from benchmarks.fingering_data import STRONG, finger_mark, read_pieces
from variants.fingering.model import hand_set


def by_editor(truth_path: Path, predicted_path: Path) -> dict[str, Counter[str]]:
    """Return for each editor how many strings, fingers and open notes agree, and of how many."""
    predicted = {piece["id"]: piece["notes"] for piece in read_pieces(predicted_path)}
    tables: dict[str, Counter[str]] = {}
    for piece in read_pieces(truth_path):
        table = tables.setdefault(piece.get("editor") or "?", Counter())
        for note, guess in zip(piece["notes"], predicted[piece["id"]], strict=True):
            if note.get("grace"):
                continue
            if note["string_src"] in STRONG:
                table["strings"] += 1
                table["strings right"] += guess["string"] == note["string"]
            if note["string_src"] == "open":
                table["open"] += 1
                table["open right"] += guess["fret"] == 0
            if finger_mark(note) and note["string"] in {None, guess["string"]}:
                table["fingers"] += 1
                table["fingers right"] += guess["finger"] == finger_mark(note)
    return tables


def main() -> None:
    """Print the report."""
    parser = argparse.ArgumentParser(description="Report predictions by editor.")
    parser.add_argument("truth", type=Path)
    parser.add_argument("predicted", type=Path)
    parser.add_argument("--chords", type=Path)
    args = parser.parse_args()
    tables = sorted(
        by_editor(args.truth, args.predicted).values(), key=lambda table: -table["strings"]
    )
    for number, table in enumerate(tables, 1):
        for name in ("strings", "fingers", "open"):
            right, count = table[f"{name} right"], table[name]
            print(f"editor {number}: {name} {right} of {count} = {right / max(count, 1):.3f}")
    if args.chords:
        model = hand_set()
        for piece in read_pieces(args.chords):
            if shape_of(piece, model) is None:
                tuning = piece["tuning_midi"]
                notes = [
                    (note["string"], note["midi"] - tuning[note["string"] - 1], note["finger"])
                    for note in piece["notes"]
                ]
                print(f"not among the grips: {piece['id']} {notes}")


if __name__ == "__main__":
    main()
