"""What is said of an error: one line, whatever went wrong."""

from __future__ import annotations

import os

from variants.errors import NeckwiseError


def failure_text(error: Exception) -> str:
    """Return what a user is told of an error of the library or of the system.

    Raises:
        Exception: The error itself, if it is a defect and NECKWISE_TRACEBACK is set.
    """
    if isinstance(error, NeckwiseError):
        return str(error)
    if isinstance(error, OSError):
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
