"""No impossible hand: every part of the corpus that a guitar could play, fingered and checked.

    python -m benchmarks.fingering_corpus [--stride N] [--seconds S]

Each part of every file that music21 ships is put on a standard guitar (a part that does not fit by
whole octaves too), fingered, and looked at again by the checks of `tests.oracles.hands`,
which share no code with the engine: what each place sounds, one note a string, one fret a
finger, fingers in the order of frets and strings, the span in millimetres; for what is struck
together, and for all that still sounds then. A held note may be let go where the change log says
so. A part that cannot be played must be refused in one line.
"""

from __future__ import annotations

import argparse
import sys
import time

from tests.oracles.corpus_files import corpus_files
from tests.oracles.fingered import Tally, run_file


def main() -> int:
    """Run the sweep and print its table; 1 when there is a fault."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stride", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=1e9)
    wishes = parser.parse_args()
    tally, start, files = Tally(), time.perf_counter(), 0
    for path in corpus_files()[:: wishes.stride]:
        if time.perf_counter() - start > wishes.seconds:
            break
        run_file(path, tally)
        files += 1
    print(f"{files} files, {tally.fingered} parts fingered with {tally.notes} notes")
    print(f"{tally.let_go} times the log tells that held notes are let go")
    for reason, count in tally.refused.most_common():
        print(f"{count:6} refused: {reason}")
    print(f"{len(tally.faults)} faults")
    for fault in tally.faults[:40]:
        print(f"  {fault}")
    return 1 if tally.faults else 0


if __name__ == "__main__":
    sys.exit(main())
