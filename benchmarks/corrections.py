"""How many labels one correction sets right, alone and carried to equal figures.

    python -m benchmarks.corrections PIECES.jsonl [--most N] [--notes N]

A teacher who reads our fingering corrects the string of the first note of each run that we missed,
and the piece is fingered again with these as pins. Carried: each correction holds for the same
figure elsewhere too (the same notes with the same before and after), as ``alike = true`` in a file
of pins. Told are the labels right before, the labels that each correction has set right (itself
among them), and how many of the editor's open strings are open then. Weights never saw the
arrangement. What the library does is ``carried, open kept``.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from itertools import groupby
from pathlib import Path

from benchmarks.fingering import FoldWeights
from benchmarks.fingering_data import STRONG, Piece, passage_of, playable, read_pieces
from variants.fingering import FingeredNote, Passage, Settings, UnplayableOnset
from variants.fingering.keeping import loosened
from variants.fingering.model import Model
from variants.fingering.passage import HandPin
from variants.fingering.solve import solve

_SETTINGS = Settings(repeat_alike=False)
_MARKED = frozenset({*STRONG, "open"})
Answer = tuple[FingeredNote, ...]
# Whether a string is carried to an equal figure: by the free answer there, whether the string is
# open, and whether the free answer was open where it was corrected.
May = Callable[[FingeredNote, bool, bool], bool]
WAYS: Mapping[str, May | None] = {
    "alone": None,
    "carried": lambda _, __, ___: True,
    "carried, open kept unless corrected": lambda free, is_open, was: (
        is_open or was or free.fret > 0
    ),
    "carried, open kept": lambda free, is_open, _: is_open or free.fret > 0,
}


@dataclass(slots=True)
class Tally:
    """What was counted over pieces."""

    labels: int = 0
    right: int = 0
    corrections: int = 0
    after: dict[str, int] = field(default_factory=dict)
    opened: int = 0
    open_before: int = 0
    open_after: dict[str, int] = field(default_factory=dict)


def figures(passage: Passage) -> list[tuple[object, ...]]:
    """Return for each note its pitch with what is struck before, with, and after it."""
    order = sorted(range(len(passage.notes)), key=lambda i: _when(passage, i))
    moments = [list(group) for _, group in groupby(order, key=lambda i: _when(passage, i))]
    chords = [tuple(sorted(passage.notes[i].midi for i in group)) for group in moments]
    found: list[tuple[object, ...]] = [()] * len(passage.notes)
    for place, group in enumerate(moments):
        before = chords[place - 1] if place else ()
        after = chords[place + 1] if place + 1 < len(chords) else ()
        for index in group:
            found[index] = (passage.notes[index].midi, before, chords[place], after)
    return found


def _when(passage: Passage, index: int) -> tuple[int, int]:
    return passage.notes[index].onset, passage.notes[index].grace


def first_of_missed_runs(labels: Mapping[int, int], free: Answer) -> list[int]:
    """Return the first note of each run of labels that an answer missed."""
    found, was_right = [], True
    for index in sorted(labels):
        is_right = free[index].string == labels[index]
        if was_right and not is_right:
            found.append(index)
        was_right = is_right
    return found


def pinned(
    passage: Passage, corrected: Mapping[int, int], free: Answer, may: May | None
) -> dict[int, HandPin]:
    """Return the pins of the corrections, and those of equal figures that they are carried to."""
    pins = {index: HandPin(string=string) for index, string in corrected.items()}
    if may is None:
        return pins
    of_note = figures(passage)
    told = {of_note[i]: (string, free[i].fret == 0) for i, string in corrected.items()}
    for index, figure in enumerate(of_note):
        if figure not in told or index in pins:
            continue
        string, was_open = told[figure]
        is_open = passage.notes[index].midi == passage.tuning_midi[string - 1]
        if may(free[index], is_open, was_open):
            pins[index] = HandPin(string=string, is_firm=False)
    return pins


def again(passage: Passage, pins: Mapping[int, HandPin], model: Model) -> Answer:
    """Return the answer with pins; one that no hand can hold is let go."""
    soft = {index: replace(pin, is_firm=False) for index, pin in pins.items()}
    notes = list(passage.notes)
    for index, pin in soft.items():
        notes[index] = pin.on(notes[index])
    kept, _ = loosened(replace(passage, notes=tuple(notes)), _SETTINGS, pins=soft)
    return solve(kept, _SETTINGS, model).notes


def count_piece(piece: Piece, model: Model, tally: Tally) -> None:
    """Add a piece to the tally."""
    _, keep = playable(piece, _SETTINGS, model)
    passage = passage_of(piece, keep=keep)
    marked = {
        place: piece["notes"][index]["string"]
        for place, index in enumerate(keep)
        if piece["notes"][index].get("string_src") in _MARKED and piece["notes"][index]["string"]
    }
    free = solve(passage, _SETTINGS, model).notes
    wrong = first_of_missed_runs(marked, free)
    opened = [i for i, s in marked.items() if passage.notes[i].midi == passage.tuning_midi[s - 1]]
    tally.labels += len(marked)
    tally.right += sum(free[index].string == string for index, string in marked.items())
    tally.corrections += len(wrong)
    tally.opened += len(opened)
    tally.open_before += sum(free[index].fret == 0 for index in opened)
    for name, may in WAYS.items():
        pins = pinned(passage, {index: marked[index] for index in wrong}, free, may)
        found = again(passage, pins, model) if wrong else free
        right = sum(found[index].string == string for index, string in marked.items())
        tally.after[name] = tally.after.get(name, 0) + right
        is_open = sum(found[index].fret == 0 for index in opened)
        tally.open_after[name] = tally.open_after.get(name, 0) + is_open


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Count what a correction sets right.")
    parser.add_argument("data", type=Path)
    parser.add_argument("--most", type=int, default=0, help="at most so many pieces, evenly taken")
    parser.add_argument("--notes", type=int, default=0, help="pieces of at most so many notes")
    args = parser.parse_args()
    pieces = [
        piece
        for piece in read_pieces(args.data)
        if any(note.get("string_src") in _MARKED for note in piece["notes"])
        and (not args.notes or len(piece["notes"]) <= args.notes)
    ]
    if args.most:
        pieces = pieces[:: max(1, len(pieces) // args.most)][: args.most]
    weights, tally, left_out = FoldWeights(), Tally(), 0
    for piece in pieces:
        try:
            count_piece(piece, weights.model_for(piece["id"]), tally)
        except UnplayableOnset:
            left_out += 1
    print(
        f"{len(pieces) - left_out} pieces, {tally.labels} labels, {tally.corrections} corrections"
    )
    rows = [("free", tally.right, tally.open_before)]
    rows += [(name, tally.after[name], tally.open_after[name]) for name in WAYS]
    print("way | strings right | right a correction | open kept")
    for name, right, is_open in rows:
        gained = (right - tally.right) / max(1, tally.corrections)
        share = f"{right / max(1, tally.labels):.3f}"
        print(f"{name} | {share} | {gained:.2f} | {is_open / max(1, tally.opened):.3f}")


if __name__ == "__main__":
    main()
