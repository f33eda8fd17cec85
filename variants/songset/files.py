"""Files that are written whole or not at all. Standard library only."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterator
from hashlib import file_digest
from pathlib import Path

from variants.errors import InputError, OutputError

_FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)


def write_whole(path: Path, data: bytes, *, through: Path, lasting: bool = False) -> None:
    """Write a file under a temporary name and rename it; its folder is made.

    Args:
        path: The file.
        data: What stands in it.
        through: The folder for the temporary file, on the same disk: what a kill leaves there is
            never taken for an output, and the next build sweeps it.
        lasting: Wait until the disk has it. Outputs and cache entries need not wait: they carry
            hashes elsewhere, so one that a power cut took is found and made again.

    Raises:
        OutputError: The system refuses, or the disk is full; an old file is as it was.
    """
    with telling(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        through.mkdir(parents=True, exist_ok=True)
        temporary = through / f"{os.getpid()}-{path.name}"
        try:
            with temporary.open("wb") as file:
                file.write(data)
                if lasting:
                    file.flush()
                    os.fsync(file.fileno())
            temporary.replace(path)
        except BaseException:
            temporary.unlink(missing_ok=True)
            raise


def move_whole(made: Path, path: Path) -> None:
    """Put a temporary file in the place of another; its folder is made.

    Raises:
        OutputError: The system refuses.
    """
    with telling(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        made.replace(path)


@contextlib.contextmanager
def telling(path: Path) -> Iterator[None]:
    """Turn what the system says of a file that is written into one line of ours."""
    try:
        yield
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise OutputError(
            f"cannot be written: {reason}",
            place=str(path),
            way_out="make room and build again; what was made is kept"
            if error.errno in _FULL
            else "check the rights in its folder",
        ) from None


def read_bytes(path: Path) -> bytes:
    """Return what stands in a file.

    Raises:
        InputError: It cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(
            f"cannot be read: {reason}", place=str(path), way_out="check the name and the rights"
        ) from None


def read_if_there(path: Path) -> bytes | None:
    """Return what stands in a file; ``None`` if there is no such file.

    Raises:
        InputError: It is there and cannot be read.
    """
    try:
        return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        return None
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(
            f"cannot be read: {reason}", place=str(path), way_out="move it away"
        ) from None


def digest_if_there(path: Path) -> str:
    """Return the SHA-256 of a file, which may be large; empty if there is no such file.

    Raises:
        InputError: It is there and cannot be read.
    """
    try:
        with path.open("rb") as file:
            return file_digest(file, "sha256").hexdigest()
    except (FileNotFoundError, NotADirectoryError):
        return ""
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(
            f"cannot be read: {reason}", place=str(path), way_out="move it away"
        ) from None
