"""Files that are written whole or not at all. Standard library only."""

from __future__ import annotations

import contextlib
import errno
import os
from collections.abc import Iterator
from hashlib import file_digest
from pathlib import Path

from variants.errors import InputError, OutputError

# Names that Windows keeps for devices, whatever ending follows: "Naming Files, Paths, and
# Namespaces" in Microsoft's documentation of Win32, from memory.
DEVICES = frozenset(
    ["con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))]
)
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


def read_bytes(path: Path, *, most_bytes: int, way_out: str) -> bytes:
    """Return what stands in a file.

    Args:
        path: The file.
        most_bytes: The most that is read of it; a device or a pipe may never end.
        way_out: What to do about a file that is larger.

    Raises:
        InputError: It cannot be read, or is larger.
    """
    with asking(path, "check the name and the rights"):
        if path.is_dir():
            raise InputError("is a folder, not a file", place=str(path), way_out="name a file")
        with path.open("rb") as file:
            data = file.read(most_bytes + 1)
    if len(data) > most_bytes:
        size = f"{most_bytes // 2**20} MiB" if most_bytes >= 2**20 else f"{most_bytes} bytes"
        raise InputError(f"is larger than {size}", place=str(path), way_out=way_out)
    return data


@contextlib.contextmanager
def asking(path: Path, way_out: str) -> Iterator[None]:
    """Turn what the system says of a file that is read into one line of ours."""
    try:
        yield
    except ValueError:
        # What the system does not take for a name at all: NUL, or a lone half of a character.
        raise InputError(
            "is no name of a file", place=repr(str(path)), way_out="check the name"
        ) from None
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise InputError(f"cannot be read: {reason}", place=str(path), way_out=way_out) from None


def read_if_there(path: Path) -> bytes | None:
    """Return what stands in a file of ours; ``None`` if there is no such file.

    Raises:
        InputError: It is there and cannot be read.
    """
    with asking(path, "move it away"):
        try:
            return path.read_bytes()
        except (FileNotFoundError, NotADirectoryError):
            return None


def digest_if_there(path: Path) -> str:
    """Return the SHA-256 of a file, which may be large; empty if there is no such file.

    Raises:
        InputError: It is there and cannot be read.
    """
    with asking(path, "move it away"):
        try:
            with path.open("rb") as file:
                return file_digest(file, "sha256").hexdigest()
        except (FileNotFoundError, NotADirectoryError):
            return ""
