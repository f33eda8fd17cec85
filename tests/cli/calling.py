"""Calls of the command line inside this process, and in one of their own."""

from __future__ import annotations

import contextlib
import io
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

from cli.main import run

ROOT = Path(__file__).parents[2]
SAMPLES = ROOT / "samples"
RIFF = SAMPLES / "harbour-riff.musicxml"
DUET = SAMPLES / "two-boats-duet.musicxml"


@dataclass(frozen=True, slots=True)
class Result:
    """How a call ended.

    Args:
        code: Exit code.
        out: What stood on standard output.
        err: What stood on standard error.
    """

    code: int
    out: str
    err: str


def call(*words: str | Path) -> Result:
    """Return what a call does, run in this process."""
    out = io.TextIOWrapper(io.BytesIO(), encoding="utf-8", write_through=True)
    err = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run([str(word) for word in words])
    buffer = out.detach()
    assert isinstance(buffer, io.BytesIO)
    return Result(code, buffer.getvalue().decode("utf-8"), err.getvalue())


def call_apart(*words: str | Path, stdin: bytes = b"") -> Result:
    """Return what a call does, run as a process of its own."""
    done = subprocess.run(  # noqa: S603 - our own command
        [sys.executable, "-c", "from cli.main import main; main()", *map(str, words)],
        input=stdin,
        capture_output=True,
        cwd=ROOT,
        check=False,
        timeout=120,
    )
    return Result(done.returncode, done.stdout.decode("utf-8"), done.stderr.decode("utf-8"))


def is_one_line(text: str) -> bool:
    """Whether a text is one line of ours."""
    return text.startswith("neckwise: ") and text.count("\n") == 1 and text.endswith("\n")
