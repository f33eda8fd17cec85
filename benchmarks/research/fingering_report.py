"""Report predictions by editor, what no hand can place, and which shapes are no grip of ours.

python -m benchmarks.research.fingering_report PIECES.jsonl PREDICTED.jsonl [--chords CHORDS.jsonl]
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from itertools import product
from pathlib import Path

from benchmarks.fingering_data import FRETS, STRONG, Piece, finger_mark, read_pieces
from benchmarks.research.fingering_chords import shape_of
from benchmarks.research.hand_set import hand_set

_TOGETHER = 1e-4


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


def not_placed(truth: Piece, predicted: Piece) -> Iterator[str]:
    """Yield each onset with a note that was not placed, with the reason found by trying all places.

    The least reach over all ways to put the notes of the onset on different strings tells whether
    any other answer could have been given.
    """
    notes = [note for note in truth["notes"] if not note.get("grace")]
    for note, guess in zip(truth["notes"], predicted["notes"], strict=True):
        if guess["string"] is None:
            onset = note["onset_beats"]
            midis = [one["midi"] for one in notes if abs(one["onset_beats"] - onset) < _TOGETHER]
            reason = least_reach(midis, truth["tuning_midi"])
            yield f"not placed: {truth['id']}, beat {onset:g}, MIDI {midis}: {reason}"


def least_reach(midis: list[int], tuning: list[int], *, scale_mm: float = 650.0) -> str:
    """Return the least reach in mm in which notes lie on different strings, or that there is none.

    >>> least_reach([40, 41], [64, 59, 55, 50, 45, 40])
    'they need one string'
    >>> least_reach([40, 76], [64, 59, 55, 50, 45, 38])
    'the least reach is 254 mm'
    """
    places = [
        [(string, midi - low) for string, low in enumerate(tuning, 1) if 0 <= midi - low <= FRETS]
        for midi in midis
    ]
    ways = [way for way in product(*places) if len({string for string, _ in way}) == len(way)]
    if not ways:
        return "they need one string" if all(places) else "no string has one of them"
    stopped = [[fret for _, fret in way if fret] or [0] for way in ways]
    least = min(scale_mm * (2 ** (-min(frets) / 12) - 2 ** (-max(frets) / 12)) for frets in stopped)
    return f"the least reach is {least:.0f} mm"


def main() -> None:
    """Print the report."""
    parser = argparse.ArgumentParser(description="Report predictions by editor.")
    parser.add_argument("truth", type=Path)
    parser.add_argument("predicted", type=Path)
    parser.add_argument("--chords", type=Path)
    args = parser.parse_args()
    predicted = {piece["id"]: piece for piece in read_pieces(args.predicted)}
    for piece in read_pieces(args.truth):
        for line in not_placed(piece, predicted[piece["id"]]):
            print(line)
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
