"""How long sheets take: engraving, a handout of four pages, a review page of eight variants, sound.

Run as ``python -m benchmarks.sheets_speed``; ``--smoke`` measures once and checks the bounds only.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from tests.strategies import line
from variants.finish import finish
from variants.musicxml import read, to_bytes
from variants.pipeline import parse_pipeline, run
from variants.score import Score
from variants.sheets import Look, Version, engrave, exercises, handout, neck_map, to_midi
from variants.sheets.review import letters, review_page

SAMPLES = Path(__file__).parents[1] / "samples"
BOUND_SECONDS = 1.5
REVIEW_BOUND_SECONDS = 2.0
EIGHT = (
    "transpose:interval=M2",
    "transpose:interval=-m3,octave=fit",
    "shift-position:position=5,open=avoid",
    "simplify-rhythm:grid=quarter",
    "single-string:string=2,move=always",
    "scale-values:factor=1/2",
    "slow:percent=60",
)
RUNS = 9
_SHORT, _LONG = 40, 320
# Twice the time for a measure would be far from linear.
_MOST_GROWTH = 1.6
_CHILDREN = resource.RUSAGE_CHILDREN


def _timed(action: Callable[[], object], runs: int) -> tuple[float, float, float]:
    """Return median and worst of some runs, and their median of processor time, in seconds."""
    times, busy = [], []
    for _ in range(runs):
        start, used = time.perf_counter(), _processor()
        action()
        times.append(time.perf_counter() - start)
        busy.append(_processor() - used)
    return median(times), max(times), median(busy)


def _processor() -> float:
    """Return the processor time of this process and of those that it waited for, in seconds."""
    own, others = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, _CHILDREN))
    return own.ru_utime + own.ru_stime + others.ru_utime + others.ru_stime


def _run(words: list[str], folder: Path, runs: int) -> tuple[float, float, float]:
    """Time a call of the command line whose modules were compiled before, as installed ones are."""
    program = [sys.executable, "-c", "from cli.main import main; main()", *words]
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    around = {**kept, "PYTHONPYCACHEPREFIX": str(folder / "compiled")}

    def call() -> object:
        return subprocess.run(program, check=True, env=around)  # noqa: S603 - our own command

    call()
    return _timed(call, runs)


def _command(runs: int) -> tuple[float, float, float]:
    """Return how long the command takes as a process of its own, its start included."""
    sample = SAMPLES / "lantern-arpeggio.musicxml"
    with tempfile.TemporaryDirectory() as folder:
        words = ["sheet", str(sample), "-o", f"{folder}/out.pdf", "--staves", "both", "-q"]
        words += ["--exercise", "fill-tab", "--answers"]
        return _run(words, Path(folder), runs)


def _page_command(runs: int) -> tuple[float, float, float]:
    """Return how long the command takes for the page, as a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        files = []
        for number, version in enumerate(_eight()):
            files.append(str(Path(folder) / f"tune-{number}.musicxml"))
            Path(files[-1]).write_bytes(to_bytes(version.score, staves="both"))
        words = ["sheet", *files, "-o", f"{folder}/out.html", "-q"]
        return _run(words, Path(folder), runs)


def _eight() -> list[Version]:
    """Return a tune and seven variants of it, fingered."""
    source = read(SAMPLES / "auld-lang-syne.musicxml")
    made = [run(source, parse_pipeline([step]).steps).score for step in EIGHT]
    return [Version(score=finish(one).score) for one in (source, *made)]


def _fresh_page(versions: list[Version]) -> object:
    """Make a page as a new process does: without fonts that were cut before."""
    letters.cut.cache_clear()
    return review_page(versions, Look(staves="both"))


def main(runs: int = RUNS) -> tuple[float, float]:
    """Print the table; return the processor seconds of the handout and of the review page."""
    score = finish(read(SAMPLES / "lantern-arpeggio.musicxml")).score
    version = Version(score=score)
    look = Look(staves="both")
    sheets = exercises(version, ["fill-tab"], answers=True)
    assert handout([version], look, sheets=sheets).pages == 4
    short, long = (_sixteenths(count) for count in (_SHORT, _LONG))
    four, four_worst, four_busy = _timed(lambda: handout([version], look, sheets=sheets), runs)
    eight = _eight()
    assert len(eight) == 8
    page, page_worst, page_busy = _timed(lambda: _fresh_page(eight), runs)
    rows: list[tuple[str, float, float, float]] = [
        ("handout of four pages, in a running program", four, four_worst, four_busy),
        ("the same as a command, start and fingering included", *_command(min(runs, 5))),
        ("review page of eight variants, in a running program", page, page_worst, page_busy),
        ("the same as a command, start and reading included", *_page_command(min(runs, 5))),
        ("engraving 6 measures, notation and tab", *_timed(lambda: _both(score), runs)),
        (f"engraving {_SHORT} measures of sixteenths", *_timed(lambda: _both(short), min(runs, 3))),
        (f"engraving {_LONG} measures of sixteenths", *_timed(lambda: _both(long), min(runs, 3))),
        ("neck map", *_timed(lambda: neck_map(score), runs)),
        ("sound", *_timed(lambda: to_midi(score), runs)),
    ]
    print(f"load of the machine {os.getloadavg()[0]:.1f}, {os.cpu_count()} processors")
    for name, middle, most, busy in rows:
        print(
            f"{name:55} {middle * 1000:8.1f} ms   worst {most * 1000:8.1f} ms   "
            f"processor {busy * 1000:8.1f} ms"
        )
    times = [busy for name, *_, busy in rows if "sixteenths" in name]
    growth = times[1] / times[0] / (_LONG / _SHORT)
    print(f"time for a measure in the long piece, against that in the short one: {growth:.2f}")
    assert growth < _MOST_GROWTH, f"engraving grows {growth:.2f} times as fast as the piece"
    return four_busy, page_busy


def _sixteenths(measures: int) -> Score:
    """Return a fingered piece of full measures."""
    return finish(line(*[" ".join(["E3:s G3:s A3:s B3:s"] * 4)] * measures)).score


def _both(score: Score) -> object:
    return engrave(score, staves="both")


if __name__ == "__main__":
    paper, screen = main(1 if "--smoke" in sys.argv else RUNS)
    assert paper < BOUND_SECONDS, f"{paper:.2f} s is more than {BOUND_SECONDS} s"
    assert screen < REVIEW_BOUND_SECONDS, f"{screen:.2f} s is more than {REVIEW_BOUND_SECONDS} s"
