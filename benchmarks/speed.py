"""Times a whole run beside lxml's bare pass and beside music21.

A run is: read, transpose by a minor third, check the contract, write. Beside it on the same files
in the same process: lxml parsing and serialising, and music21 parsing, transposing and writing.

    python -m benchmarks.speed           the table, and benchmarks/speed.md
    python -m benchmarks.speed --smoke   once over the smallest piece, for CI
"""

from __future__ import annotations

import argparse
import sys
import time
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from lxml import etree

from benchmarks.pieces import piece
from tests.oracles.corpus_files import corpus_files, label
from variants.music import Interval
from variants.musicxml import read_bytes, to_bytes
from variants.musicxml.source import unpacked
from variants.pipeline import run
from variants.score import Score, notes
from variants.steps.transpose import Transpose

REPORT = Path(__file__).with_name("speed.md")
STEP = Transpose(interval=Interval.parse("m3"))
MOST_TIMES_LXML = 5.0
LEAST_TIMES_MUSIC21 = 40.0
_COLUMNS = (
    "piece",
    "notes",
    "KiB",
    "read",
    "transpose and check",
    "write",
    "whole run",
    "lxml, bare",
    "music21",
    "run / lxml",
    "music21 / run",
)


@dataclass(frozen=True, slots=True)
class Case:
    """One piece to time."""

    name: str
    data: bytes

    @property
    def notes(self) -> int:
        """Number of note elements in the file."""
        return self.data.count(b"<note ")


@dataclass(frozen=True, slots=True)
class Times:
    """Milliseconds of each stage, and of the two others."""

    read: float
    transpose: float
    write: float
    lxml: float
    music21: float

    @property
    def ours(self) -> float:
        """The whole run."""
        return self.read + self.transpose + self.write


def cases() -> tuple[Case, ...]:
    """Return the three sizes."""
    return (
        Case("8 measures, one line", piece(8, tab=False, chords=False)),
        Case("30 measures with chords", piece(30, tab=False, chords=True)),
        Case("100 measures, chords, two staves", piece(100, tab=True, chords=True)),
    )


def best_ms(work: Callable[[], object], times: int) -> float:
    """Return the shortest of several runs, in milliseconds of processor time.

    Processor time, because what else runs on the machine is nobody's merit.
    """
    shortest = float("inf")
    for _ in range(times):
        begun = time.process_time()
        work()
        shortest = min(shortest, time.process_time() - begun)
    return 1000 * shortest


def bare_pass(data: bytes) -> bytes:
    """Parse and serialise with lxml, and nothing else."""
    return etree.tostring(etree.fromstring(data), encoding="UTF-8", xml_declaration=True)


def music21_pass(data: bytes) -> bytes:
    """Parse, transpose and write with music21."""
    from music21 import converter
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        moved = converter.parseData(data.decode(), format="musicxml").transpose("m3")
        return bytes(GeneralObjectExporter(moved).parse())


def transposed(score: Score) -> Score:
    """Transpose and check the contract."""
    return run(score, [STEP]).score


def measure(case: Case, *, times: int, slow_times: int) -> Times:
    """Time one piece; first see that what is timed does what it should."""
    score = read_bytes(case.data)
    result = transposed(score)
    assert _heights(result) == [height + 3 for height in _heights(score)]
    assert _heights(read_bytes(to_bytes(result), reading="concert")) == _heights(result)
    data = case.data
    return Times(
        best_ms(lambda: read_bytes(data), times),
        best_ms(lambda: transposed(score), times),
        best_ms(lambda: to_bytes(result), times),
        best_ms(lambda: bare_pass(data), times),
        best_ms(lambda: music21_pass(data), slow_times),
    )


def real_files() -> list[Case]:
    """Return every fortieth piece of music21's corpus, unpacked."""
    pieces = [path for path in corpus_files() if label(path).startswith("corpus/")]
    return [Case(label(path), unpacked(path.read_bytes())) for path in pieces[::40]]


def times_lxml(case: Case, *, times: int) -> float:
    """Return how many times a whole run lasts as long as lxml's bare pass over the same file."""
    score = read_bytes(case.data)
    result = transposed(score)
    ours = (
        best_ms(lambda: read_bytes(case.data), times)
        + best_ms(lambda: transposed(score), times)
        + best_ms(lambda: to_bytes(result), times)
    )
    return ours / best_ms(lambda: bare_pass(case.data), times)


def _heights(score: Score) -> list[float]:
    return [
        float(note.pitch.semitones) for part in score.parts for note in notes(part) if note.pitch
    ]


def report(rows: Sequence[tuple[Case, Times]]) -> str:
    """Return the table as Markdown."""
    lines = [
        "# Speed",
        "",
        "Made by `make bench`: read, transpose by a minor third, check the contract, write. In",
        "milliseconds of processor time, the best of several runs, all in one process.",
        "",
        f"| {' | '.join(_COLUMNS)} |",
        "|---|" + "--:|" * 10,
    ]
    for case, times in rows:
        cells = [times.read, times.transpose, times.write, times.ours, times.lxml, times.music21]
        lines.append(
            f"| {case.name} | {case.notes} | {len(case.data) / 1024:.0f} | "
            + " | ".join(f"{cell:.2f}" for cell in cells)
            + f" | {times.ours / times.lxml:.1f} | {times.music21 / times.ours:.0f} |"
        )
    lines += [
        "",
        f"Aims: at most {MOST_TIMES_LXML:g} times lxml, {LEAST_TIMES_MUSIC21:g} times music21.",
        _verdict(rows),
        "",
    ]
    return "\n".join(lines)


def _verdict(rows: Sequence[tuple[Case, Times]]) -> str:
    missed = [
        f"{case.name}: {times.ours / times.lxml:.1f} times lxml"
        for case, times in rows
        if times.ours > MOST_TIMES_LXML * times.lxml
    ] + [
        f"{case.name}: {times.music21 / times.ours:.0f} times faster than music21"
        for case, times in rows
        if times.music21 < LEAST_TIMES_MUSIC21 * times.ours
    ]
    return f"Missed: {'; '.join(missed)}." if missed else "Both are met for every piece."


def _real_report(found: Sequence[Case]) -> str:
    ratios = sorted(times_lxml(case, times=15) for case in found)
    sizes = sorted(len(case.data) // 1024 for case in found)
    return (
        f"\n{len(found)} pieces of music21's corpus ({sizes[0]} to {sizes[-1]} KiB), run / lxml: "
        f"median {median(ratios):.1f}, from {ratios[0]:.1f} to {ratios[-1]:.1f}.\n"
    )


def main(arguments: Sequence[str] | None = None) -> int:
    """Time the pieces, print the table, and write it unless it is a smoke run."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--smoke", action="store_true", help="once over the smallest piece")
    options = parser.parse_args(arguments)
    if options.smoke:
        rows = [(case, measure(case, times=1, slow_times=1)) for case in cases()[:1]]
    else:
        rows = [(case, measure(case, times=40, slow_times=4)) for case in cases()]
    text = report(rows)
    if not options.smoke:
        text += _real_report(real_files())
    print(text)
    if not options.smoke:
        REPORT.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
