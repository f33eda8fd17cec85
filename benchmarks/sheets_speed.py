"""How long sheets take: engraving, a handout of four pages, the sound.

Run as ``python -m benchmarks.sheets_speed``; ``--smoke`` measures once and checks the bound only.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from tests.strategies import line
from variants.finish import finish
from variants.musicxml import read
from variants.score import Score
from variants.sheets import Look, Version, engrave, exercises, handout, neck_map, to_midi

SAMPLES = Path(__file__).parents[1] / "samples"
BOUND_SECONDS = 1.5
RUNS = 9


def _timed(action: Callable[[], object], runs: int) -> tuple[float, float]:
    """Return median and worst of some runs, in seconds."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        action()
        times.append(time.perf_counter() - start)
    return median(times), max(times)


def _command(runs: int) -> tuple[float, float]:
    """Return how long the command takes as a process of its own, its start included."""
    sample = SAMPLES / "lantern-arpeggio.musicxml"
    with tempfile.TemporaryDirectory() as folder:
        words = ["sheet", str(sample), "-o", f"{folder}/out.pdf", "--staves", "both", "-q"]
        words += ["--exercise", "fill-tab", "--answers"]
        program = "from cli.main import main; main()"
        return _timed(
            lambda: subprocess.run([sys.executable, "-c", program, *words], check=True),  # noqa: S603
            runs,
        )


def main(runs: int = RUNS) -> float:
    """Print the table and return the median of the four-page handout in seconds."""
    score = finish(read(SAMPLES / "lantern-arpeggio.musicxml")).score
    version = Version(score=score)
    look = Look(staves="both")
    sheets = exercises(version, ["fill-tab"], answers=True)
    assert handout([version], look, sheets=sheets).pages == 4
    long = finish(line(*["E2 G2 A2 B2", "C3:h A2:h"] * 100)).score
    four, worst = _timed(lambda: handout([version], look, sheets=sheets), runs)
    rows = [
        ("handout of four pages, in a running program", four, worst),
        ("the same as a command, start and fingering included", *_command(min(runs, 5))),
        ("engraving 6 measures, notation and tab", *_timed(lambda: _both(score), runs)),
        ("engraving 200 measures, notation and tab", *_timed(lambda: _both(long), min(runs, 3))),
        ("neck map", *_timed(lambda: neck_map(score), runs)),
        ("sound", *_timed(lambda: to_midi(score), runs)),
    ]
    for name, middle, most in rows:
        print(f"{name:55} {middle * 1000:8.1f} ms   worst {most * 1000:8.1f} ms")
    return four


def _both(score: Score) -> object:
    return engrave(score, staves="both")


if __name__ == "__main__":
    taken = main(1 if "--smoke" in sys.argv else RUNS)
    assert taken < BOUND_SECONDS, f"{taken:.2f} s is more than {BOUND_SECONDS} s"
