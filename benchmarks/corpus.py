"""Reads, writes, transposes and rearranges everything that music21 ships as MusicXML.

    python -m benchmarks.corpus             everything; music21 reads along on every 7th file
    python -m benchmarks.corpus --all       music21 reads along on all files (slow)
    python -m benchmarks.corpus --stride 20 a sample
    python -m benchmarks.corpus --only bach files whose name holds a word

Exit code 1 when a target is missed. A full run writes its table to ``benchmarks/corpus.md``.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from multiprocessing import get_context
from pathlib import Path

from tests.oracles.corpus_files import corpus_files, label
from tests.oracles.sweep import (
    BROKEN,
    CRASHED,
    DONE,
    REFUSED,
    WRONG,
    Findings,
    Plan,
    examine,
)  # fmt: skip

REPORT = Path(__file__).with_name("corpus.md")
# music21 reads along on every seventh file, 115 in all: it takes most of the time of a run.
INDEPENDENT_STRIDE = 7
LEAST_READ_SHARE = 0.99
_VERDICTS = (DONE, REFUSED, BROKEN, WRONG, CRASHED)
_MOST_LINES = 40


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the sweep, print the table and return the exit code."""
    options = _parser().parse_args(arguments)
    paths = [path for path in corpus_files()[:: options.stride] if options.only in label(path)]
    begun = time.perf_counter()
    total = Findings()
    for done, (path, found) in enumerate(_all_findings(paths, options), 1):
        total.add(found)
        _show_progress(f"{done}/{len(paths)} {label(path)}", done)
    seconds = time.perf_counter() - begun
    text = report(total, files=len(paths), seconds=seconds)
    print(text)
    for line in sorted(total.problems)[: options.lines]:
        print(line[:300])
    if options.stride == 1 and not options.only:
        REPORT.write_text(text, encoding="utf-8")
    return int(bool(missed(total, files=len(paths))))


def _show_progress(text: str, done: int) -> None:
    if sys.stderr.isatty():
        print(f"\r{text[-78:]:78}", end="", file=sys.stderr, flush=True)
    elif done % 25 == 0:
        print(text, file=sys.stderr, flush=True)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--all", action="store_true", help="let music21 read along on all files")
    parser.add_argument("--stride", type=int, default=1, help="take every n-th file only")
    parser.add_argument("--only", default="", help="take files whose name holds this")
    parser.add_argument("--jobs", type=int, default=2, help="processes (2)")
    parser.add_argument("--lines", type=int, default=_MOST_LINES, help="problems to print (40)")
    return parser


def _all_findings(
    paths: list[Path], options: argparse.Namespace
) -> Iterator[tuple[Path, Findings]]:
    """Yield the findings of each file, the largest files first so that no process waits long."""
    order = sorted(enumerate(paths), key=lambda one: -one[1].stat().st_size)
    heard = 1 if options.all else max(1, INDEPENDENT_STRIDE // options.stride)
    jobs = [(path, Plan(independent=place % heard == 0)) for place, path in order]
    if options.jobs == 1:
        yield from map(_examined, jobs)
        return
    # A fresh process for every few files keeps what music21 caches within bounds.
    with get_context("spawn").Pool(options.jobs, maxtasksperchild=60) as pool:
        yield from pool.imap_unordered(_examined, jobs)


def _examined(job: tuple[Path, Plan]) -> tuple[Path, Findings]:
    path, plan = job
    return path, examine(path, plan)


def missed(total: Findings, *, files: int) -> list[str]:
    """Return the targets that were missed, one line each."""
    lines = []
    share = total.verdicts["read", DONE] / files if files else 0.0
    if share < LEAST_READ_SHARE:
        lines.append(f"{share:.2%} of the files are read; the target is {LEAST_READ_SHARE:.0%}")
    for verdict in (BROKEN, WRONG, CRASHED):
        times = sum(count for (_, how), count in total.verdicts.items() if how == verdict)
        if times:
            lines.append(f"{verdict}: {times}; the target is 0")
    return lines


def report(total: Findings, *, files: int, seconds: float) -> str:
    """Return the table of a run as Markdown."""
    read = total.verdicts["read", DONE]
    lines = [
        "# The corpus",
        "",
        "Made by `make corpus`: every MusicXML file that music21 ships.",
        "",
        f"{files} files, {read} read ({read / max(files, 1):.2%}), in {seconds:.0f} seconds.",
        "",
        "| check | " + " | ".join(_VERDICTS) + " |",
        "|---|" + "--:|" * len(_VERDICTS),
    ]
    for check in _in_order(total):
        cells = [str(total.verdicts[check, verdict]) for verdict in _VERDICTS]
        lines.append(f"| {check} | " + " | ".join(cells) + " |")
    lines += ["", "Targets missed: " + ("; ".join(missed(total, files=files)) or "none") + ".", ""]
    lines += ["## Refused", "", "| check | cause | times |", "|---|---|--:|"]
    for (check, cause), times in sorted(
        total.refusals.items(), key=lambda one: (one[0][0], -one[1])
    ):
        lines.append(f"| {check} | {cause} | {times} |")
    return "\n".join(lines) + "\n"


def _in_order(total: Findings) -> list[str]:
    """Return the checks in the order in which most files meet them."""
    seen = Counter(check for check, _ in total.verdicts)
    first = ("read", "write", "written", "sounding", "transpose")
    return sorted(
        seen, key=lambda check: next((i for i, w in enumerate(first) if check.startswith(w)), 9)
    )


if __name__ == "__main__":
    sys.exit(main())
