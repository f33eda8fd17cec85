"""One build at a time in an output folder. The system lets go of the lock when a build dies."""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import IO

from variants.errors import UsageError
from variants.files import telling

_LOCK = "lock"


@contextlib.contextmanager
def locked(state: Path, *, waits: bool) -> Iterator[None]:
    """Hold the lock of an output folder.

    Args:
        state: The folder in it that is the tool's own; it is made.
        waits: Wait for another build to end instead of refusing.

    Raises:
        UsageError: Another build is at work there.
        OutputError: The folder cannot be made.
    """
    path = state / _LOCK
    with telling(path):
        state.mkdir(parents=True, exist_ok=True)
        ignore = state / ".gitignore"
        if not ignore.exists():
            # What stands here is for this machine alone.
            ignore.write_text("*\n", encoding="utf-8")
        file = path.open("a+b")
    with file:
        if not _take(file, waits=waits):
            file.seek(0)
            who = file.read().decode("ascii", "replace").strip()
            raise UsageError(
                f"another build is at work in this folder{f' (process {who})' if who else ''}",
                place=str(state.parent),
                way_out="let it end, or wait for it with --wait",
            )
        file.truncate(0)
        file.write(str(os.getpid()).encode())
        file.flush()
        try:
            yield
        finally:
            with contextlib.suppress(OSError):
                file.truncate(0)


if sys.platform == "win32":
    import msvcrt

    def _take(file: IO[bytes], *, waits: bool) -> bool:
        file.seek(0)
        while True:
            try:
                msvcrt.locking(file.fileno(), msvcrt.LK_LOCK if waits else msvcrt.LK_NBLCK, 1)
            except OSError:
                if not waits:
                    return False
            else:
                return True

else:
    import fcntl

    def _take(file: IO[bytes], *, waits: bool) -> bool:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | (0 if waits else fcntl.LOCK_NB))
        except BlockingIOError:
            return False
        return True
