"""How the figures of difficulty agree with authors who call their studies progressive.

    python -m benchmarks.difficulty PIECES.jsonl [--out FILE]

PIECES.jsonl holds parts of editions, one a line, with beats, pitches and voices, as
`benchmarks.fingering_data` reads them; no string or finger of an editor is used. Measured is the
rank correlation (Spearman's) of the author's order with each area, each factor and the overall
figure, for Carcassi's op. 60, Aguado's op. 11, and the preludes of Carcassi's op. 59, and how it
varies when each study in turn is left out.
"""

from __future__ import annotations

import argparse
import re
from collections import Counter
from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

from benchmarks.fingering_data import Piece, read_pieces
from variants.errors import NeckwiseError
from variants.fingering import Settings
from variants.fingering.score import finger_score
from variants.levels.difficulty import factors
from variants.levels.grade import AREAS, difficulty
from variants.music import Key, Metre, NoteValue
from variants.music.key import spelled
from variants.score import (
    STANDARD_GUITAR,
    Attributes,
    Direction,
    Event,
    Instrument,
    KeySign,
    Measure,
    Note,
    Part,
    Score,
    Voice,
)

COLLECTIONS = {
    "Carcassi, op. 60": r"carcassi-op60-(\d+)",
    "Aguado, op. 11": r"aguado-op11n(\d+)",
    "Carcassi, op. 59, preludes": r"CarcassiMethodPreludes#(\d+)",
}
_TICKS = 48
_MEASURE = 4 * _TICKS
_NAMES = (
    ("whole", 4),
    ("half", 2),
    ("quarter", 1),
    ("eighth", 0.5),
    ("16th", 0.25),
    ("32nd", 0.125),
)


def _value(ticks: int) -> NoteValue:
    """Return the written value nearest to a length."""
    every = [
        (base * (2 - 0.5**dots) * normal / actual, NoteValue(name, dots, actual, normal))
        for name, base in _NAMES
        for dots in (0, 1)
        for actual, normal in ((1, 1), (3, 2))
    ]
    return min(every, key=lambda one: abs(one[0] - ticks / _TICKS))[1]


def _key_of(piece: Piece) -> Key:
    """Return the signature that most notes are in; the data name none."""
    heard = Counter(note["midi"] % 12 for note in piece["notes"])

    def fitting(fifths: int) -> tuple[int, int]:
        scale = {7 * step % 12 for step in range(fifths - 1, fifths + 6)}
        return sum(number for one, number in heard.items() if one in scale), -abs(fifths)

    return Key(max(range(-5, 6), key=fitting))


def score_of(piece: Piece) -> Score:
    """Return a piece as a score in common time, whatever its metre, which the data do not name."""
    key = _key_of(piece)
    notes = [note for note in piece["notes"] if not note.get("grace")]
    count = int(max(note["onset_beats"] + note["dur"] for note in notes) * _TICKS // _MEASURE) + 1
    voices: list[list[Voice]] = [[] for _ in range(count)]
    for name in dict.fromkeys(note["voice"] for note in notes):
        for index, events in _events([one for one in notes if one["voice"] == name], key).items():
            voices[index].append(Voice(str(name), tuple(events)))
    measures = [Measure(str(n), _MEASURE, tuple(own)) for n, own in enumerate(voices, 1)]
    measures[0] = Measure(
        "1",
        _MEASURE,
        tuple(voices[0]),
        attributes=(Attributes(0, keys=(KeySign(key),), metre=Metre()),),
        directions=(Direction(0, "<words/>", quarters_per_minute=Fraction(90)),),
    )
    opened = tuple(spelled(midi, Key(0)) for midi in piece["tuning_midi"])
    standard = opened == STANDARD_GUITAR.open_strings
    guitar = STANDARD_GUITAR if standard else Instrument(open_strings=opened)
    return Score(_TICKS, (Part("P1", "Guitar", tuple(measures), instrument=guitar),))


def _events(notes: Sequence[dict[str, Any]], key: Key) -> dict[int, list[Event]]:
    struck: dict[int, list[dict[str, Any]]] = {}
    for note in notes:
        struck.setdefault(round(note["onset_beats"] * _TICKS), []).append(note)
    found: dict[int, list[Event]] = {}
    for start, after in pairwise([*sorted(struck), 1 << 60]):
        index = start // _MEASURE
        longest = round(max(note["dur"] for note in struck[start]) * _TICKS)
        length = max(1, min(longest, after - start, (index + 1) * _MEASURE - start))
        heights = sorted({note["midi"] for note in struck[start]})
        own = tuple(Note(spelled(midi, key)) for midi in heights)
        found.setdefault(index, []).append(
            Event(start - index * _MEASURE, length, _value(length), own)
        )
    return found


def figures(piece: Piece) -> dict[str, float] | None:
    """Return every figure of a piece, fingered by the program; `None` if no hand can play it."""
    try:
        done = finger_score(score_of(piece), Settings(open_strings="usual"), keep_places=False)
    except NeckwiseError:
        return None
    found = factors(done.score, done.score.parts[0])
    hard = difficulty(found)
    return {"overall": hard.overall, **hard.areas, **{one.name: one.value for one in found}}


def spearman(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the rank correlation of two rows; 0 if one of them does not vary.

    >>> spearman([1, 2, 3, 4], [10, 20, 20, 50])
    0.9486832980505138
    """
    a, b = _ranks(one), _ranks(other)
    mean = (len(a) + 1) / 2
    up = sum((x - mean) * (y - mean) for x, y in zip(a, b, strict=True))
    wide = sum((x - mean) ** 2 for x in a) * sum((y - mean) ** 2 for y in b)
    return float(up / wide**0.5) if wide else 0.0


def _ranks(row: Sequence[float]) -> list[float]:
    ordered = sorted(row)
    return [ordered.index(one) + (ordered.count(one) + 1) / 2 for one in row]


def report(found: dict[str, list[tuple[int, dict[str, float]]]]) -> str:
    """Return the page."""
    names = ["overall", *AREAS]
    every = next(iter(found.values()))[0][1]
    lines = ["# How hard a piece is", "", *_HEAD, ""]
    lines += [f"| | {' | '.join(f'{name} ({len(own)})' for name, own in found.items())} |"]
    lines += ["|---|" + "---:|" * len(found)]
    for name in [*names, *(one for one in every if one not in names)]:
        cells = []
        for own in found.values():
            order = [number for number, _ in own]
            values = [row[name] for _, row in own]
            text = f"{spearman(order, values):+.2f}"
            if name == "overall":
                left = [_without(order, values, at) for at in range(len(own))]
                text += f" ({min(left):+.2f} to {max(left):+.2f})"
            cells.append(text)
        lines.append(f"| {name} | {' | '.join(cells)} |")
    return "\n".join(lines) + "\n"


def _without(order: Sequence[int], values: Sequence[float], at: int) -> float:
    return spearman([*order[:at], *order[at + 1 :]], [*values[:at], *values[at + 1 :]])


_HEAD = (
    "`python -m benchmarks.difficulty PIECES.jsonl`: rank correlation of the author's order with",
    "the overall figure, the four areas, and every factor. In brackets, the least and the most",
    "when each study in turn is left out. The weights are round numbers, not fitted, but they were",
    "chosen among a dozen such rows while looking at all three collections: none was kept apart.",
    "Fingers and places are the program's, metre and signature are guessed.",
)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("pieces", type=Path)
    parser.add_argument("--out", default="")
    asked = parser.parse_args(arguments)
    found: dict[str, list[tuple[int, dict[str, float]]]] = {name: [] for name in COLLECTIONS}
    for piece in read_pieces(asked.pieces):
        for name, pattern in COLLECTIONS.items():
            match = re.search(pattern, piece["id"])
            own = figures(piece) if match else None
            if match and own:
                found[name].append((int(match[1]), own))
    text = report(found)
    print(text)
    if asked.out:
        Path(asked.out).write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
