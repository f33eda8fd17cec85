"""Fit single-line tunes of music21's corpus, and our samples, to every level of the ladder.

    python -m benchmarks.levels [--tunes N] [--seconds S] [--skip-files K] [--out FILE]

The tunes are the ABC collections that music21 ships (fiddle tunes and folk songs), read through
music21 and written as MusicXML first. Each version's written file is read again and checked by
`variants.levels.meets`, which shares no counting with the search. Reported: fits and refusals for
each level, median and 95th percentile of the time for a tune and level (shared results of the
levels before count for the later ones, as in `fit --ladder`), plans that the check rejected, and
losses that fall where a level grows stricter. Times are of the processor, so that a busy machine
does not count.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.oracles.corpus_files import music21_folder
from variants.errors import NeckwiseError
from variants.levels import Fit, Fitter, NoFit, check_written, load_ladder
from variants.musicxml import read_raw
from variants.score import Score, with_parts
from variants.variant import Wishes

_COLLECTIONS = ("ryansMammoth", "essenFolksong", "oneills1850", "airdsAirs")
# Of a file with many tunes so many are taken, evenly.
_OF_A_FILE = 8


@dataclass
class Tally:
    """What was counted."""

    fits: Counter[str] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    blocked: Counter[str] = field(default_factory=Counter)
    seconds: dict[str, list[float]] = field(default_factory=dict)
    losses: dict[str, list[float]] = field(default_factory=dict)
    rejected: int = 0
    unmet: int = 0
    falling: list[str] = field(default_factory=list)
    tunes: int = 0
    errors: list[str] = field(default_factory=list)


def tunes(count: int, *, skip: int = 0) -> Iterator[tuple[str, bytes]]:
    """Yield name and MusicXML of so many single-line tunes, taken evenly from the collections."""
    from music21 import converter

    root = music21_folder() / "corpus"
    groups = [sorted((root / name).rglob("*.abc")) for name in _COLLECTIONS]
    files = [path for group in groups for path in evenly(group, max(1, count // 2))]
    made = 0
    for path in _shuffled(files)[skip:]:
        try:
            parsed: Any = converter.parse(path, format="abc")
        except Exception as error:  # noqa: BLE001 - music21 raises all kinds of errors
            print(f"music21 cannot read {path.name}: {error}")
            continue
        scores = list(parsed.scores) if parsed.classes[0] == "Opus" else [parsed]
        for index, one in enumerate(evenly(scores, _OF_A_FILE)):
            data = single_line(one)
            if data is None:
                continue
            yield f"{path.stem} {index + 1}", data
            made += 1
            if made == count:
                return


def evenly(items: list[Any], count: int) -> list[Any]:
    """Return so many items, taken evenly."""
    if len(items) <= count:
        return items
    return [items[index * len(items) // count] for index in range(count)]


def _shuffled(files: list[Path]) -> list[Path]:
    # Neighbours in a collection are alike; a fixed stride mixes them without chance.
    stride = 7
    return [files[i] for start in range(stride) for i in range(start, len(files), stride)]


def single_line(score: Any) -> bytes | None:  # noqa: ANN401 - music21 has no types for us
    """Return a music21 score as MusicXML if it is one line of single notes."""
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    parts = list(score.parts)
    if len(parts) != 1 or any(one.isChord for one in parts[0].recurse().notes):
        return None
    if not parts[0].recurse().notes:
        return None
    try:
        return bytes(GeneralObjectExporter(score).parse())
    except Exception:  # noqa: BLE001 - music21 raises all kinds of errors
        return None


def run(name: str, score: Score, tally: Tally) -> None:
    """Fit one piece to every level and count."""
    fitter = Fitter(score, Wishes())
    before: float | None = None
    tally.tunes += 1
    for level in load_ladder():
        start = time.process_time()
        found = fitter.fits(level)
        took = time.process_time() - start
        tally.seconds.setdefault(level.name, []).append(took)
        if isinstance(found, NoFit):
            tally.refused[level.name] += 1
            cause = found.nearest.blocked[0][0] if found.nearest else "nothing"
            tally.blocked[f"{level.name} {cause}"] += 1
            print(f"{name}: {found.sentence()}")
            continue
        best: Fit = found[0]
        tally.fits[level.name] += 1
        tally.losses.setdefault(level.name, []).append(best.plan.total)
        tally.unmet += bool(check_written(best.variant.score, level))
        if before is not None and best.plan.total > before + 1e-9:
            tally.falling.append(f"{name} {level.name}: {before:.3f} then {best.plan.total:.3f}")
        before = best.plan.total


def table(tally: Tally, *, samples: bool = False) -> list[str]:
    """Return the lines of the report."""
    heads = "| level | fits | refused | share | median s | p95 s | median loss |"
    lines = [heads, "|-|-|-|-|-|-|-|"]
    for level in load_ladder():
        name = level.name
        fits, refused = tally.fits[name], tally.refused[name]
        seconds = sorted(tally.seconds.get(name, [0.0]))
        p95 = seconds[min(len(seconds) - 1, int(len(seconds) * 0.95))]
        loss = statistics.median(tally.losses.get(name, [0.0]))
        share = fits / max(1, fits + refused)
        lines.append(
            f"| {name} | {fits} | {refused} | {share:.1%} | {statistics.median(seconds):.2f} |"
            f" {p95:.2f} | {loss:.2f} |"
        )
    what = "parts of the samples" if samples else "tunes"
    summary = (
        f"{tally.tunes} {what}; versions that do not meet their level by the independent check:"
        f" {tally.unmet}; a stricter level that loses less: {len(tally.falling)};"
        f" not read: {len(tally.errors)}."
    )
    lines += ["", summary]
    if tally.blocked:
        lines.append(
            f"Refused by: {', '.join(f'{k} {n}' for k, n in tally.blocked.most_common())}."
        )
    return lines


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tunes", type=int, default=300)
    parser.add_argument("--seconds", type=float, default=3600.0)
    parser.add_argument("--skip-files", type=int, default=0)
    parser.add_argument("--out", default="")
    asked = parser.parse_args()
    tally, ours = Tally(), Tally()
    start = time.perf_counter()
    for path in sorted((Path(__file__).parent.parent / "samples").glob("*.musicxml")):
        score = read_raw(path.read_bytes())
        for part in score.parts:
            run(f"{path.stem} {part.id}", with_parts(score, [part]), ours)
    for name, data in tunes(asked.tunes, skip=asked.skip_files):
        if time.perf_counter() - start > asked.seconds:
            break
        try:
            run(name, read_raw(data), tally)
        except NeckwiseError as error:
            tally.errors.append(f"{name}: {error}")
    lines = ["## Tunes", "", *table(tally), "", "## Samples", "", *table(ours, samples=True)]
    lines += ["", *(f"- {one}" for one in (*tally.errors, *tally.falling, *ours.falling))]
    print("\n".join(lines))
    if asked.out:
        text = "# Fit to the ladder\n\n" + "\n".join(lines).rstrip() + "\n"
        Path(asked.out).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
