"""Builds in processes of their own, with what they cost."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
RECIPES = (
    *("reading-only", "tab-only", "counted", "position-5"),
    *("easy-rhythm", "up-a-tone", "down-a-third", "drop-d"),
)
_SET = """[build]
outputs = ["musicxml"]
index = false
recipes = {recipes}

[[songs]]
source = "songs/*.musicxml"
"""
_CALL = "import sys; from cli.main import run; sys.exit(run(sys.argv[1:]))"
_LOOK_S = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """What one build cost.

    Args:
        songs: Its songs.
        jobs: Its worker processes.
        made: Variants that were made.
        refused: Variants that cannot be made.
        seconds: From start to end of the process.
        parent_mb: Most memory of the process that builds.
        worker_mb: Most memory of one worker; 0 without one.
    """

    songs: int
    jobs: int
    made: int
    refused: int
    seconds: float
    parent_mb: float
    worker_mb: float

    def row(self) -> str:
        """Return the run as a row of the table."""
        cells = (
            *(self.songs, self.jobs, self.made, self.refused, f"{self.seconds:.1f}"),
            f"{1000 * self.seconds / self.songs:.0f}",
            f"{(self.made + self.refused) / self.seconds:.0f}",
            f"{self.parent_mb:.0f}",
            f"{self.worker_mb:.0f}" if self.worker_mb else "-",
        )
        return f"| {' | '.join(map(str, cells))} |"


def make_set(folder: Path, songs: Iterable[Path], recipes: Sequence[str] = RECIPES) -> Path:
    """Write a set of copies of songs and return its set file."""
    (folder / "songs").mkdir(parents=True)
    for song in songs:
        shutil.copyfile(song, folder / "songs" / song.name)
    path = folder / "set.toml"
    path.write_text(_SET.format(recipes=json.dumps(list(recipes))), encoding="utf-8")
    return path


def started(path: Path, *words: str) -> subprocess.Popen[bytes]:
    """Start a build as the leader of a group of processes."""
    return subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, "-c", _CALL, "build", str(path), "--json", *words],
        cwd=ROOT,
        start_new_session=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def built(path: Path, songs: int, *, jobs: int) -> Run:
    """Build a set and return what it cost."""
    start = time.monotonic()
    process = started(path, "--jobs", str(jobs))
    memory: dict[int, float] = {}
    # The report is longer than a pipe holds, so it is read while the memory is watched.
    os.set_blocking(process.stdout.fileno(), False)  # type: ignore[union-attr]
    text = b""
    while process.poll() is None:
        text += (process.stdout.read() or b"") if process.stdout else b""
        memory |= _memory_mb(process.pid)
        time.sleep(_LOOK_S)
    seconds = time.monotonic() - start
    text += (process.stdout.read() or b"") if process.stdout else b""
    if process.returncode not in (0, 1):
        raise SystemExit(process.stderr.read().decode() if process.stderr else "the build failed")
    values = json.loads(text)
    if values["failed"] or values["edited"]:
        raise SystemExit(f"the build failed: {values['failed'][:3]} {values['edited'][:3]}")
    workers = [size for pid, size in memory.items() if pid != process.pid]
    return Run(
        songs=songs,
        jobs=jobs,
        made=values["units"] - len(values["refused"]),
        refused=len(values["refused"]),
        seconds=seconds,
        parent_mb=memory.get(process.pid, 0.0),
        worker_mb=max(workers, default=0.0),
    )


def _memory_mb(group: int) -> dict[int, float]:
    """Return the most memory so far of each process of a group, in MB (Linux)."""
    found: dict[int, float] = {}
    for folder in Path("/proc").glob("[0-9]*"):
        try:
            if os.getpgid(int(folder.name)) != group:
                continue
            status = (folder / "status").read_text(encoding="ascii", errors="replace")
        except (OSError, ProcessLookupError):
            continue
        for line in status.splitlines():
            if line.startswith("VmHWM:"):
                found[int(folder.name)] = int(line.split()[1]) / 1024
    return found


def tree(folder: Path) -> dict[str, bytes]:
    """Return each output of a folder, what the tool keeps for itself aside."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and ".neckwise" not in path.parts
    }
