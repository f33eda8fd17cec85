"""How much of the tune the ladder's versions keep, on tunes and pieces of all kinds.

    python -m benchmarks.arranging [--pieces N] [--out FILE]

Fiddle tunes, folk songs and airs that music21 ships, sopranos of its chorales, and our samples,
each fitted to level 1 to 6. Of what a version plays, the share that is the tune in order, octaves
counted, under one transposition of the whole version (`variants.tune.kept`); and how much of the
source's tune is left. Reported: both for each level, what was refused, and the worst ten.
"""

from __future__ import annotations

import argparse
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, islice, zip_longest
from pathlib import Path
from typing import Any

from benchmarks.levels import evenly, single_line
from tests.oracles.corpus_files import music21_folder
from variants.errors import NeckwiseError
from variants.levels import Fitter, NoFit, load_ladder
from variants.levels.workshop import FLOOR
from variants.musicxml import Reading, read_raw, settle_octaves
from variants.score import Score, with_parts
from variants.variant import Wishes

REPORT = Path(__file__).with_name("arranging.md")
# Folder of the corpus, and of how many of its tunes the sample consists.
_COLLECTIONS = (
    ("ryansMammoth", 14),
    ("oneills1850", 12),
    ("essenFolksong", 14),
    ("airdsAirs", 10),
    ("nottingham-dataset", 4),
)
_CHORALES = 8
_WORST = 10


@dataclass(frozen=True, slots=True)
class Row:
    """What one level's version of a piece keeps; a refused one keeps nothing and says why."""

    piece: str
    level: str
    is_tune: float
    is_left: float
    steps: str


def pieces() -> Iterator[tuple[str, Score]]:
    """Yield pieces with their names, of each kind in turn."""
    kinds = [_tunes(*one) for one in _COLLECTIONS]
    for row in zip_longest(_samples(), _chorales(), *kinds):
        yield from (one for one in row if one is not None)


def _tunes(folder: str, count: int) -> Iterator[tuple[str, Score]]:
    from music21 import converter

    files = sorted((music21_folder() / "corpus" / folder).rglob("*.abc"))
    found = chain.from_iterable(_of_a_file(path, converter) for path in evenly(files, 2 * count))
    yield from islice(found, count)


def _of_a_file(path: Path, converter: Any) -> Iterator[tuple[str, Score]]:  # noqa: ANN401
    try:
        parsed: Any = converter.parse(path, format="abc")
    except Exception as error:  # noqa: BLE001 - music21 raises all kinds of errors
        print(f"music21 cannot read {path.name}: {error}")
        return
    scores = list(parsed.scores) if parsed.classes[0] == "Opus" else [parsed]
    for number, one in enumerate(evenly(scores, 2), 1):
        data = single_line(one)
        if data is not None:
            yield f"{path.stem} {number}", read_raw(data)


def _samples() -> Iterator[tuple[str, Score]]:
    root = Path(__file__).parent.parent / "samples"
    for path in sorted((*root.glob("*.musicxml"), *root.glob("set/*.musicxml"))):
        score = settle_octaves(read_raw(path.read_bytes()), Reading.AUTO)
        for part in score.parts:
            yield f"{path.stem} {part.id}", with_parts(score, [part])


def _chorales() -> Iterator[tuple[str, Score]]:
    files = sorted((music21_folder() / "corpus" / "bach").glob("*.mxl"))
    for path in evenly(files, _CHORALES):
        score = read_raw(path.read_bytes())
        yield f"{path.stem} soprano", with_parts(score, [score.parts[0]])


def rows_of(name: str, score: Score) -> list[Row]:
    """Return what each level's version keeps."""
    found = Fitter(score, Wishes()).ladder(load_ladder())
    return [
        Row(name, one.level.name, 0.0, 0.0, one.sentence())
        if isinstance(one, NoFit)
        else Row(
            name, one.level.name, one.kept.is_tune, one.kept.is_left, " -> ".join(one.plan.steps)
        )
        for one in found
    ]


def report(rows: Sequence[Row], count: int) -> str:
    """Return the page."""
    made = [one for one in rows if one.is_tune]
    under = sum(one.is_tune < FLOOR for one in made)
    lines = [
        "# How much of the tune is kept",
        "",
        (
            f"`python -m benchmarks.arranging`: {count} tunes and pieces, levels 1 to 6; "
            f"{len(made)} versions, {len(rows) - len(made)} refused, {under} under {FLOOR}."
        ),
        "",
        "| level | versions | refused | median is tune | worst | median left | least left |",
        "|---|---:|---:|---:|---:|---:|---:|",
    ]
    for name in sorted({one.level for one in rows}):
        own = [one for one in made if one.level == name]
        refused = sum(one.level == name for one in rows) - len(own)
        tune, left = [one.is_tune for one in own], [one.is_left for one in own]
        lines.append(
            f"| {name} | {len(own)} | {refused} | {statistics.median(tune or [0]):.2f} | "
            f"{min(tune, default=0):.2f} | {statistics.median(left or [0]):.2f} | "
            f"{min(left, default=0):.2f} |"
        )
    lines += ["", "The worst ten, then what was refused:", ""]
    worst = sorted(made, key=lambda one: (one.is_tune, one.is_left, one.piece, one.level))
    lines += [
        (
            f"- {one.piece}, {one.level}: {one.is_tune:.2f} is the tune, "
            f"{one.is_left:.2f} is left ({one.steps or 'as it is'})"
        )
        for one in worst[:_WORST]
    ]
    lines += [f"- {one.piece}, {one.level}: {one.steps}" for one in rows if not one.is_tune]
    return "\n".join(lines) + "\n"


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pieces", type=int, default=1000)
    parser.add_argument("--out", default="")
    asked = parser.parse_args(arguments)
    rows: list[Row] = []
    count = 0
    for name, score in islice(pieces(), asked.pieces):
        try:
            own = rows_of(name, score)
        except NeckwiseError as error:
            print(f"{name}: {error}")
            continue
        count += 1
        rows += own
        for one in own:
            print(
                f"{one.piece} {one.level}: {one.is_tune:.2f} {one.is_left:.2f} {one.steps}",
                flush=True,
            )
    text = report(rows, count)
    print(text)
    if asked.out:
        Path(asked.out).write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
