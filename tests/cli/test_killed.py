"""Killed at any moment, the program leaves the old file or the new one, whole."""

from __future__ import annotations

import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import pytest

from tests.cli.calling import RIFF, ROOT, call, is_one_line

KILLS = 200


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the writer is a fork of a small process")
def test_killed_while_writing(tmp_path: Path) -> None:
    """SIGKILL at 200 random moments of writing: old or new each time, and both do occur."""
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-m", "tests.cli.killing", str(tmp_path), str(KILLS), "1"],
        capture_output=True, text=True, cwd=ROOT, check=True, timeout=120,
    )  # fmt: skip
    left = Counter(done.stdout.split()[:KILLS])
    assert set(left) == {"old", "new"}, left
    assert min(left.values()) > KILLS // 20
    # Unfinished files show that writers were really killed in the middle of it.
    assert int(done.stdout.split()[-1]) > KILLS // 10


@pytest.mark.skipif(not hasattr(os, "fork"), reason="limits of a process are of Unix")
def test_the_system_stops_the_writing(tmp_path: Path) -> None:
    """A write that the system really stops half-way: one line, the old file as it was."""
    out = tmp_path / "a.musicxml"
    assert call("vary", RIFF, "-o", out).code == 0
    before = out.read_bytes()
    code = (
        "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
        "from cli.main import main; main()"
    )
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", code, "vary", str(RIFF), "-s", "invert-dyads", "-o", str(out)],
        capture_output=True, text=True, cwd=ROOT, check=False, timeout=120,
    )  # fmt: skip
    assert done.returncode == 2
    assert is_one_line(done.stderr)
    assert "cannot be written" in done.stderr
    assert out.read_bytes() == before
    assert list(tmp_path.iterdir()) == [out]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write all")
def test_read_only_folder(tmp_path: Path) -> None:
    """A folder that may not be written in: one line, nothing there."""
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o500)
    done = call("vary", RIFF, "-o", folder / "a.musicxml")
    assert done.code == 2
    assert is_one_line(done.err)
    assert "check the rights" in done.err
