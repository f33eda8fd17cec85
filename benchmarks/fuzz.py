"""Damages real files in thousands of ways and looks for anything worse than a refusal.

    python -m benchmarks.fuzz                  20,000 cases
    python -m benchmarks.fuzz --cases 500      fewer
    python -m benchmarks.fuzz --first 20000    others
    python -m benchmarks.fuzz --one 1234       one again, with its traceback

Each case is `tests.oracles.damage`: a file that ships with music21 or with us, damaged by its seed.
The cases run in processes that may use 1 GiB of memory and 10 seconds for each. A full run writes
its table to ``benchmarks/fuzz.md``. Exit code 1 when anything is found.
"""

from __future__ import annotations

import argparse
import os
import resource
import signal
import subprocess
import sys
import time
import traceback
from collections.abc import Sequence
from pathlib import Path

REPORT = Path(__file__).with_name("fuzz.md")
SECONDS = 10
BYTES = 2**30
CASES = 20_000
_BATCH = 500


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the cases, print what was found and return the exit code."""
    options = _parser().parse_args(arguments)
    if options.worker:
        _work(options.first, options.cases)
        return 0
    if options.one is not None:
        return _one(options.one)
    begun = time.perf_counter()
    problems: list[str] = []
    peak = 0
    for start in range(options.first, options.first + options.cases, _BATCH):
        end = min(start + _BATCH, options.first + options.cases)
        found, used = _batch(start, end)
        problems += found
        for line in found:
            print(line[:250], file=sys.stderr, flush=True)
        peak = max(peak, used)
        print(f"{end - options.first}/{options.cases}", len(problems), file=sys.stderr, flush=True)
    seconds = time.perf_counter() - begun
    text = report(problems, cases=options.cases, seconds=seconds, peak_bytes=peak)
    print(text)
    if options.cases >= CASES and options.first == 0:
        REPORT.write_text(text, encoding="utf-8")
    return int(bool(problems))


def _batch(start: int, end: int) -> tuple[list[str], int]:
    """Run cases in a process; one that ends it is noted, and the rest go on in another."""
    problems: list[str] = []
    peak = 0
    while start < end:
        done = subprocess.run(  # noqa: S603 - our own code
            [sys.executable, "-m", "benchmarks.fuzz", "--worker", "--first", str(start),
             "--cases", str(end - start)],
            capture_output=True, text=True, check=False,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1", "PYTHONHASHSEED": "0"},
        )  # fmt: skip
        last = start - 1
        for line in done.stdout.splitlines():
            kind, _, rest = line.partition(" ")
            if kind == "case":
                last = int(rest)
            elif kind == "peak":
                peak = max(peak, int(rest))
            else:
                problems.append(f"case {last}: {line}")
        if done.returncode == 0:
            break
        is_late = -done.returncode in (signal.SIGALRM, signal.SIGPROF)
        how = "hang" if is_late else f"ended by {done.returncode}"
        problems.append(f"case {last}: {how}: {done.stderr.strip()[-200:]}")
        start = max(last, start) + 1
    return problems, peak


def _work(first: int, cases: int) -> None:
    from tests.oracles.damage import damaged, faults
    from tests.xsd import schema

    schema()
    resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))
    for seed in range(first, first + cases):
        print("case", seed, flush=True)
        data = damaged(seed)
        # A signal ends the process, so that a hang in a library counts too. What counts is the
        # time of the processor: another process may keep this one waiting.
        signal.setitimer(signal.ITIMER_PROF, SECONDS)
        signal.alarm(12 * SECONDS)
        try:
            lines = faults(data, seed)
        except Exception as error:  # noqa: BLE001 - a crash is what is looked for
            where = traceback.extract_tb(error.__traceback__)[-1]
            lines = [f"{error!r} at {Path(where.filename).name}:{where.lineno}"]
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.alarm(0)
        for line in lines:
            print("fault", " ".join(line.split())[:300], flush=True)
    print("peak", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024)


def _one(seed: int) -> int:
    from tests.oracles.damage import damaged, faults

    data = damaged(seed)
    Path(f"fuzz-{seed}.xml").write_bytes(data)
    found = faults(data, seed)
    print("\n".join(found) or "nothing")
    return int(bool(found))


def report(problems: list[str], *, cases: int, seconds: float, peak_bytes: int) -> str:
    """Return the table of a run as Markdown."""
    lines = [
        "# Damaged files",
        "",
        "Made by `python -m benchmarks.fuzz`: files of music21 and ours, damaged by seed, read,",
        "written in two layouts, run through a pipeline, one in four fingered.",
        "",
        f"{cases} cases in {seconds:.0f} seconds; {len(problems)} problems.",
        f"Most memory: {peak_bytes / 2**20:.0f} MiB ({BYTES // 2**20} allowed). A case that takes",
        f"more than {SECONDS} seconds of processor time is ended and counts as a problem.",
        "",
        *(f"- {line}" for line in problems[:100]),
    ]
    return "\n".join(lines).rstrip() + "\n"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawTextHelpFormatter
    )
    parser.add_argument("--cases", type=int, default=CASES, help="number of cases (20,000)")
    parser.add_argument("--first", type=int, default=0, help="first seed (0)")
    parser.add_argument("--one", type=int, default=None, help="run one case in this process")
    parser.add_argument("--worker", action="store_true", help=argparse.SUPPRESS)
    return parser


if __name__ == "__main__":
    sys.exit(main())
