"""Builds that are killed with all their processes at random moments, then run again."""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

from benchmarks.songset_runs import RECIPES, ROOT, built, make_set, started, tree

_SEED = 20
_EARLIEST_S = 0.2
_ANYWHERE = 5
_LOOK_S = 0.005


def killed_builds(times: int, folder: Path) -> tuple[str, list[str]]:
    """Kill so many builds, run each again, and hold what it gives against an undisturbed build.

    Args:
        times: How many.
        folder: A folder to work in.
    """
    songs = sorted((ROOT / "samples" / "set" / "songs").glob("*.musicxml"))
    whole = make_set(folder / "whole", songs)
    seconds = built(whole, len(songs), jobs=2).seconds
    wanted = tree(whole.parent / "out")
    probe = make_set(folder / "probe", songs)
    process = started(probe, "--jobs", "2")
    _await_output(probe.parent / "out", process)
    first = time.monotonic()
    process.communicate()
    busy = time.monotonic() - first
    moments = random.Random(_SEED)  # noqa: S311 - no secret
    seen: Counter[str] = Counter()
    missed = []
    for number in range(times):
        path = make_set(folder / "cut", songs)
        process = started(path, "--jobs", "2")
        if number % _ANYWHERE:
            # Starting takes as long as writing here, and is the duller half.
            _await_output(path.parent / "out", process)
            time.sleep(moments.uniform(0, busy))
        else:
            time.sleep(moments.uniform(_EARLIEST_S, seconds))
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        seen[_left(path.parent / "out")] += 1
        built(path, len(songs), jobs=2)
        if tree(path.parent / "out") != wanted:
            missed.append(f"build {number}")
        sys.stderr.write(f"\r{number + 1} of {times} killed, {len(missed)} differ")
        sys.stderr.flush()
        shutil.rmtree(path.parent)
    where = ", ".join(f"{count} {text}" for text, count in sorted(seen.items()))
    text = (
        f"{times} builds of {len(songs)} songs in {len(RECIPES)} variants were killed with their "
        f"workers, one in {_ANYWHERE} at any moment of {seconds:.1f} s and the others after the "
        f"first output ({where}), and run again: "
        f"{times - len(missed)} times the outputs were those of an undisturbed build, byte for "
        "byte."
    )
    return text, missed


def _await_output(out: Path, process: subprocess.Popen[bytes]) -> None:
    """Wait until a build begins to write, or has ended."""
    while process.poll() is None and not (out / ".neckwise" / "journal").exists():
        time.sleep(_LOOK_S)


def _left(out: Path) -> str:
    """Return in words how far a killed build had come."""
    if not (out / ".neckwise" / "journal").exists():
        return "had ended" if (out / "manifest.json").exists() else "before the first output"
    return "in the midst of it"
