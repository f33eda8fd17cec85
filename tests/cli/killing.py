"""Run as a script: kills a process at random moments while it writes, and looks at what is left.

    python -m tests.cli.killing FOLDER KILLS SEED

Prints ``old``, ``new`` or ``torn`` for each kill, and at the end the number of unfinished files.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import time
from pathlib import Path

from variants.files import write_file

# Two scores of different lengths, each some hundred kilobytes, so that writing takes a while.
OLD = b"<score>" + b"old " * 60_000 + b"</score>"
NEW = b"<score>" + b"new note " * 50_000 + b"</score>"


def main(folder: Path, kills: int, seed: int) -> None:
    """Kill a writer so many times and print what it left each time."""
    draw = random.Random(seed)  # noqa: S311 - repeatable moments, nothing secret
    target = folder / "out.musicxml"
    for _ in range(kills):
        target.write_bytes(OLD)
        sys.stdout.write(_one(target, draw.uniform(0, 0.006)) + "\n")
    sys.stdout.write(f"left {len(list(folder.glob('.neckwise-*.tmp')))}\n")


def _one(target: Path, seconds: float) -> str:
    ready, go = os.pipe()
    child = os.fork()
    if not child:
        os.read(ready, 1)
        while True:
            write_file(target, NEW)
            write_file(target, OLD)
    os.write(go, b"x")
    time.sleep(seconds)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(ready)
    os.close(go)
    return {OLD: "old", NEW: "new"}.get(target.read_bytes(), "torn")


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
