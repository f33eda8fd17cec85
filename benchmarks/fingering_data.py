"""The editions that the fingering model is fitted to and measured on: reading, labels, folds.

A line of ``pieces.jsonl`` is one part of an edition, with the strings and fingers that its
editor marked; a line of ``chords.jsonl`` is one chord shape. No label enters the making of
candidates: :func:`passage_of` reads the notes only.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from variants.fingering.answer import UnplayableOnset
from variants.fingering.chain import Chain, chain_of, reach_of
from variants.fingering.model import Model
from variants.fingering.passage import Passage, PassageNote, Settings
from variants.fingering.sounds import sounds_of

Piece = dict[str, Any]

TICKS = 960
FOLDS = 7
_BARS = (4.0, 3.0, 2.0, 1.5)
ROOTS = ("C", "Csharp", "D", "Eb", "E", "F", "Fsharp", "G", "Ab", "A", "Bb", "B")
# A neck on which every note of the data lies; two frets more than the usual one of the package.
FRETS = 24
STRONG = ("explicit", "position", "chord shape")


def read_pieces(path: Path) -> list[Piece]:
    """Return the pieces of a JSON-lines file, in its order."""
    with path.open(encoding="utf-8") as lines:
        return [json.loads(line) for line in lines]


def passage_of(piece: Piece, *, keep: Sequence[int] | None = None, bar: float = 0.0) -> Passage:
    """Return the notes of a piece as a passage: pitches and times, no label.

    Args:
        piece: The piece.
        keep: Indices of the notes that are wanted; all when left out.
        bar: Quarters in a measure, 0 for one measure of the whole piece.
    """
    notes = piece["notes"]
    return Passage(
        notes=tuple(
            PassageNote(
                onset=round(notes[index]["onset_beats"] * TICKS),
                duration=max(1, round(notes[index]["dur"] * TICKS)),
                midi=notes[index]["midi"],
                voice=str(notes[index].get("voice", "")),
                measure=int(notes[index]["onset_beats"] // bar) if bar else 0,
                grace=-1 if notes[index].get("grace") else 0,
            )
            for index in (range(len(notes)) if keep is None else keep)
        ),
        ticks_per_quarter=TICKS,
        quarters_per_minute=piece.get("tempo_bpm") or 90.0,
        tuning_midi=tuple(piece["tuning_midi"]),
        frets=FRETS,
    )


def guessed_bar(piece: Piece) -> float:
    """Return the quarters in a measure with which most broken chords fill one.

    The data have no barlines; where chords are broken, this finds them.
    """
    reach = reach_of(passage_of(piece), Settings())

    def filled(bar: float) -> float:
        _, slots = sounds_of(passage_of(piece, bar=bar), grips=reach)
        return sum(slot.broken for slot in slots)

    return max(_BARS, key=filled)


def playable(piece: Piece, settings: Settings, model: Model) -> tuple[Chain, list[int]]:
    """Return the chain of a piece without the notes that no hand can hold, and what was kept.

    Where the notes of an onset cannot be held together, one is left out: an inner one of a
    chord, the lower of two.
    """
    keep = list(range(len(piece["notes"])))
    while True:
        try:
            return chain_of(passage_of(piece, keep=keep), settings, model), keep
        except UnplayableOnset as error:
            heads = error.notes
            keep.pop(heads[len(heads) // 2 if len(heads) > 2 else 0])


def arrangement(piece_id: str) -> str:
    """Return the arrangement that a piece belongs to: its parts and versions go together.

    >>> arrangement("mutopia:BachJS/BWV846/a-duo/a-duo#3")
    'BachJS/BWV846/a-duo'
    """
    parts = piece_id.partition(":")[2].split("/")
    return "/".join(parts[:3] if len(parts) > 3 else parts[:2])


def folds_of(pieces: Sequence[Piece]) -> dict[str, int]:
    """Return the fold of each arrangement: the heaviest first, each into the lightest fold."""
    weight: Counter[str] = Counter()
    for piece in pieces:
        weight[arrangement(piece["id"])] += 1 + sum(
            note.get("string_src") in {*STRONG, "open"} or note["finger"] is not None
            for note in piece["notes"]
        )
    loads = [0] * FOLDS
    folds = {}
    for name, labels in sorted(weight.items(), key=lambda item: (-item[1], item[0])):
        folds[name] = loads.index(min(loads))
        loads[folds[name]] += labels
    return folds


def editors_with_numerals(pieces: Sequence[Piece]) -> frozenset[str]:
    """Return the editors who print Roman numerals over more than three notes in ten."""
    notes: Counter[str] = Counter()
    under: Counter[str] = Counter()
    for piece in pieces:
        editor = piece.get("editor") or ""
        notes[editor] += len(piece["notes"])
        under[editor] += sum(note.get("hand_position") is not None for note in piece["notes"])
    return frozenset(editor for editor in notes if under[editor] > 0.3 * notes[editor])


def chord_fold(piece_id: str) -> int:
    """Return the fold of a chord shape: all shapes of one root go together.

    >>> chord_fold("chordsdb:C:major:2"), chord_fold("chordsdb:Bb:major:0")
    (0, 3)
    """
    return ROOTS.index(piece_id.split(":")[1]) % FOLDS


def finger_mark(note: dict[str, Any]) -> int:
    """Return the finger 1 to 4 that an editor marked, or 0."""
    mark = note.get("finger")
    return int(mark) if mark is not None and str(mark) in "1234" else 0
