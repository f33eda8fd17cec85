"""Looks for anything that reading and writing without a step loses, with eyes other than ours.

    python -m benchmarks.compare              everything
    python -m benchmarks.compare --stride 40  a sample
    python -m benchmarks.compare --only bach  files whose name holds a word

Each file of the corpus is read and written, and the two files are compared four times: element by
element in the XML (`tests.oracles.census`), as music21 and partitura read them, and, every
tenth file, by musicdiff. What is missing afterwards is *listed* if a line of the change log is
about it at its place, else it is *lost*, and lost things are the failure that is looked for. A full
run writes its table to ``benchmarks/compare.md``. Needs ``pip install -e '.[compare]'``.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from multiprocessing import get_context
from pathlib import Path

from tests.oracles.comparison import THEIRS, Comparison, compare
from tests.oracles.corpus_files import corpus_files, label
from tests.oracles.other_readers import KINDS

REPORT = Path(__file__).with_name("compare.md")
_DIFF_STRIDE = 10


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the comparison, print the table and return the exit code: 1 when something is lost."""
    options = _parser().parse_args(arguments)
    paths = [path for path in corpus_files()[:: options.stride] if options.only in label(path)]
    begun = time.perf_counter()
    total = Comparison()
    jobs = [(path, not options.xml, index % _DIFF_STRIDE == 0) for index, path in enumerate(paths)]
    with get_context("spawn").Pool(options.jobs, maxtasksperchild=40) as pool:
        for done, found in enumerate(pool.imap_unordered(_one, jobs), 1):
            total.add(found)
            for line in found.examples:
                print(line[:250], file=sys.stderr, flush=True)
            if done % 25 == 0:
                print(f"{done}/{len(paths)}", file=sys.stderr, flush=True)
    text = report(total, files=len(paths), seconds=time.perf_counter() - begun)
    print(text)
    for line in sorted(total.examples)[: options.lines]:
        print(line[:300])
    if options.stride == 1 and not options.only and not options.xml:
        REPORT.write_text(text, encoding="utf-8")
    return int(bool(total.lost))


def _one(job: tuple[Path, bool, bool]) -> Comparison:
    path, readers, diff = job
    return compare(path, readers=readers, diff=diff and readers)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--stride", type=int, default=1, help="take every n-th file only")
    parser.add_argument("--only", default="", help="take files whose name holds this")
    parser.add_argument("--xml", action="store_true", help="compare the XML alone (quick)")
    parser.add_argument("--jobs", type=int, default=1, help="processes (1)")
    parser.add_argument("--lines", type=int, default=60, help="lost things to print (60)")
    return parser


def report(total: Comparison, *, files: int, seconds: float) -> str:
    """Return the table of a run as Markdown."""
    lines = [
        "# What reading and writing loses",
        "",
        "Made by `python -m benchmarks.compare`: each file of the corpus, read and written without",
        "a step, compared with itself. *Listed*: missing afterwards, and a line of the change log",
        "says so at its place. *Lost*: missing without a word.",
        "",
        f"{files} files, {len(total.refused)} refused, in {seconds:.0f} seconds.",
        "",
        "| reader | files compared | files it cannot read itself |",
        "|---|--:|--:|",
    ]
    readers = ("XML", "music21", "partitura", "musicdiff")
    lines += [f"| {one} | {total.files[one]} | {total.failed[one]} |" for one in readers]
    long = total.failed["too long for the other readers"]
    lines += ["", f"{long} files over 2 MB are compared by their XML alone, and by musicdiff every"]
    lines += ["tenth file under 100 kB: the others take it minutes or hours."]
    lines += ["", "| reader | thing | in the sources | listed | theirs | lost |"]
    lines += ["|---|---|--:|--:|--:|--:|"]
    for key in sorted(total.things | total.lost, key=_in_order):
        if key[0] != "XML" or total.lost[key] or total.listed[key]:
            counters = (total.things, total.listed, total.explained, total.lost)
            cells = [counter[key] for counter in counters]
            lines.append(f"| {key[0]} | {key[1]} | " + " | ".join(map(str, cells)) + " |")
    whole = sum(times for (reader, _), times in total.things.items() if reader == "XML")
    lines += ["", f"Things in the XML of the sources: {whole}; kinds without a loss are not shown."]
    lines += ["", "*Theirs*: what the other reader finds otherwise because of itself:", ""]
    lines += [f"- {who}, {part}: {why}" for (who, part), why in THEIRS.items()]
    lines += ["", "## Refused", ""] + [f"- {line}" for line in sorted(total.refused)]
    lost_lines = sorted(total.examples)
    lines += ["", "## Lost", "", *(f"- {line[:200]}" for line in lost_lines[:40])]
    return "\n".join(lines) + "\n"


def _in_order(key: tuple[str, str]) -> tuple[int, int, str]:
    readers = ("XML", "music21", "partitura", "musicdiff")
    kind = KINDS.index(key[1]) if key[1] in KINDS else len(KINDS)
    return readers.index(key[0]), kind, key[1]


if __name__ == "__main__":
    sys.exit(main())
