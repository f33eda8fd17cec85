"""Takes thousands of fiddle tunes in ABC through steps and fingering.

    python -m benchmarks.abc               all of them
    python -m benchmarks.abc --stride 50   a sample

The tunes are the public-domain collections that music21 ships: O'Neill (1903, 1907), Ryan (1883)
and Aird (1782 to 1801). Each tune is read through music21, fingered, and taken through five
pipelines with their contracts; all is written with tab and read again. Every tenth tune is fingered
after each pipeline too. A refusal in one line is an answer; a traceback, a broken contract or
output that is not valid is a fault. A full run writes its table to ``benchmarks/abc.md``. Exit code
1 on any fault.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from multiprocessing import get_context
from pathlib import Path

from tests.oracles.fiddle_tunes import CHECKS, Sweep, all_tunes, examine

REPORT = Path(__file__).with_name("abc.md")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the sweep, print the table and return the exit code."""
    options = _parser().parse_args(arguments)
    jobs = list(all_tunes(options.stride))
    begun = time.perf_counter()
    total = Sweep()
    with get_context("spawn").Pool(options.jobs, maxtasksperchild=400) as pool:
        for done, found in enumerate(pool.imap_unordered(_job, jobs), 1):
            total.add(found)
            for line in found.faults:
                print(line[:250], file=sys.stderr, flush=True)
            if done % 100 == 0:
                print(f"{done}/{len(jobs)}", file=sys.stderr, flush=True)
    text = report(total, seconds=time.perf_counter() - begun)
    print(text)
    if options.stride == 1:
        REPORT.write_text(text, encoding="utf-8")
    return int(bool(total.faults))


def _job(job: tuple[Path, int]) -> Sweep:
    return examine(*job)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--stride", type=int, default=1, help="take every n-th tune only")
    parser.add_argument("--jobs", type=int, default=1, help="processes (1)")
    return parser


def report(total: Sweep, *, seconds: float) -> str:
    """Return the table of a run as Markdown."""
    number = sum(total.tunes.values())
    told = ", ".join(f"{name} {times}" for name, times in sorted(total.tunes.items()))
    lines = [
        "# Fiddle tunes in ABC",
        "",
        "Made by `python -m benchmarks.abc`: public-domain tunes read through music21, fingered,",
        "and varied; each step's contract is checked, what is written is checked by the schema.",
        "",
        f"{number} tunes ({told}) in {seconds:.0f} seconds; {len(total.faults)} faults.",
        "",
        "| check | done | refused |",
        "|---|--:|--:|",
    ]
    for check in CHECKS:
        times = sum(n for (name, _), n in total.refused.items() if name == check)
        lines.append(f"| {check} | {total.done[check]} | {times} |")
    lines += ["", "## Refused", "", "| check | cause | times |", "|---|---|--:|"]
    ordered = sorted(total.refused.items(), key=lambda one: (CHECKS.index(one[0][0]), -one[1]))
    lines += [f"| {check} | {cause} | {times} |" for (check, cause), times in ordered]
    lines += ["", *(f"- {line[:200]}" for line in total.faults[:40])]
    return "\n".join(lines).rstrip() + "\n"


if __name__ == "__main__":
    sys.exit(main())
