"""What is said of an error: one line, whatever went wrong."""

from __future__ import annotations

import os
import re
from pathlib import Path

from variants.errors import NeckwiseError

# A name of a file has at most 255 bytes; a longer word is no name, and hides what is said of it.
_LONGEST_WORD = 300
_SHOWN_LETTERS = 60


def one_line(text: str) -> str:
    """Return a text as one line, words cut that are too long to be read.

    >>> one_line("no such  name")
    'no such name'
    """
    words = " ".join(text.split())
    return re.sub(rf"[^\s,;'\"]{{{_LONGEST_WORD},}}", _cut, words)


def _cut(found: re.Match[str]) -> str:
    word = found.group()
    return f"{word[:_SHOWN_LETTERS]}... ({len(word)} characters)"


def failure_text(error: Exception) -> str:
    """Return what a user is told of an error of the library or of the system.

    Raises:
        Exception: The error itself, if it is a defect and NECKWISE_TRACEBACK is set.
    """
    if isinstance(error, NeckwiseError):
        return str(error)
    if isinstance(error, OSError):
        if not error.filename and _is_homeless():
            return "the folder that you work in is gone; change into another one"
        where = f"{error.filename}: " if error.filename else ""
        reason = (error.strerror or str(error)).lower()
        return f"{where}{reason}; check the name, the rights and the room on the disk"
    if isinstance(error, RecursionError):
        return "the file nests too deeply to be read; export it again"
    if isinstance(error, MemoryError):
        return "there is not enough memory for this file; split it"
    if os.environ.get("NECKWISE_TRACEBACK"):
        raise error
    return (
        f"a defect of neckwise ({type(error).__name__}: {error}); nothing is written, please report"
        " it with the file and the call (NECKWISE_TRACEBACK=1 shows where)"
    )


def _is_homeless() -> bool:
    try:
        Path.cwd()
    except OSError:
        return True
    return False
