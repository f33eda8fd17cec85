"""How long fingering takes, and that the time grows in proportion to the length.

Run with ``python -m benchmarks.fingering_speed``. The limits are those of the project: a
100-measure single line of 800 notes under 0.4 s, a 100-measure two-voice study under 1.5 s, on
one core.
"""

from __future__ import annotations

import argparse
import os
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from variants.fingering import Passage, PassageNote, Settings, finger
from variants.fingering.lattice import blocks_for
from variants.fingering.solve import solve

_EIGHTH = 480
_BAR = 8
# Scale degrees of an invented line over two octaves, and its bass; the pattern never closes in
# on a measure, so that no two measures are equal.
_SCALE = (52, 53, 55, 57, 59, 60, 62, 64, 65, 67, 69, 71, 72, 74, 76)
LINE_LIMIT_S, STUDY_LIMIT_S = 0.4, 1.5


def line(measures: int) -> Passage:
    """Return an invented line of eight eighth notes a measure."""
    notes = tuple(
        PassageNote(
            onset=index * _EIGHTH,
            duration=_EIGHTH,
            midi=_SCALE[(index * 2 + (index // 5) % 7 + (index // 11) % 3) % len(_SCALE)],
            measure=index // _BAR,
        )
        for index in range(measures * _BAR)
    )
    return _passage(notes, measures)


def study(measures: int) -> Passage:
    """Return the line over a bass of held half notes."""
    upper = tuple(
        PassageNote(
            onset=note.onset,
            duration=note.duration,
            midi=57 + (note.midi - 52) % 11,
            measure=note.measure,
        )
        for note in line(measures).notes
    )
    bass = tuple(
        PassageNote(
            onset=half * 4 * _EIGHTH,
            duration=4 * _EIGHTH,
            midi=40 + (half * 5 + half // 7) % 13,
            voice="2",
            measure=half // 2,
        )
        for half in range(measures * 2)
    )
    return _passage(upper + bass, measures)


def _passage(notes: tuple[PassageNote, ...], measures: int) -> Passage:
    return Passage(
        notes=notes,
        ticks_per_quarter=2 * _EIGHTH,
        quarters_per_minute=90.0,
        measure_starts=tuple(index * _BAR * _EIGHTH for index in range(measures)),
    )


def seconds(passage: Passage, *, repeats: int = 3, beam: int = 96) -> float:
    """Return the processor time of the quickest of a few runs; others may be at work too.

    The weights are loaded. The grips of a piece before are forgotten: each run makes its own.
    """
    solve(line(1), Settings())
    best = float("inf")
    for _ in range(repeats):
        blocks_for.cache_clear()
        start = time.process_time()
        solve(passage, Settings(beam=beam))
        best = min(best, time.process_time() - start)
    return best


def main() -> None:
    """Print the table; stop with an error when a limit is passed."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    parser.add_argument("--smoke", action="store_true", help="one run of the 100 measures only")
    smoke = parser.parse_args().smoke
    print("measures   line, s   study, s")
    times = {}
    for measures in (100,) if smoke else (100, 200, 400, 800):
        repeats = 1 if smoke else 3
        times[measures] = (
            seconds(line(measures), repeats=repeats),
            seconds(study(measures), repeats=repeats),
        )
        print(f"{measures:8d}  {times[measures][0]:8.3f}   {times[measures][1]:8.3f}")
    if not smoke:
        whole = finger(study(100), Settings(beam=10_000)).notes
        print("beam       notes of the study (100 measures) with the same place and finger")
        for beam in (16, 32, 64, 96, 192):
            same = finger(study(100), Settings(beam=beam)).notes
            share = sum(a == b for a, b in zip(same, whole, strict=True)) / len(whole)
            print(f"{beam:5d}      {share:.3f}")
    assert times[100][0] < LINE_LIMIT_S, "the line took too long"
    assert times[100][1] < STUDY_LIMIT_S, "the study took too long"


if __name__ == "__main__":
    main()
