"""Files that are written whole or not at all. Standard library only."""

from __future__ import annotations

import contextlib
import errno
import itertools
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
STANDARD_STREAM = "-"
# Our mark stands in the identification, which comes before the first part.
_MARK = b"<software>neckwise</software>"
_HEAD_BYTES = 16384
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


def check_free(path: Path, name: str, *, sources: tuple[str, ...] = (), force: bool) -> None:
    """Check that a file may be written.

    Raises:
        OutputError: Its folder is missing, it is one of the sources, or it exists, is not ours
            and ``force`` is not given.
    """
    if not path.parent.is_dir():
        raise OutputError(
            f"there is no folder {str(path.parent)!r}",
            place=name,
            way_out="make it first, or choose another",
        )
    if path.stem.casefold() in DEVICES:
        raise OutputError(
            f"{path.stem} is a name that Windows keeps for a device",
            place=name,
            way_out="choose another, so that the file can go anywhere",
        )
    if path.is_symlink():
        # Links were followed before: this one leads to itself.
        raise OutputError("is a link that leads round", place=name, way_out="remove the link")
    if not path.exists():
        return
    for source in sources:
        if source != STANDARD_STREAM and Path(source).exists() and path.samefile(source):
            raise OutputError(
                "output and input are the same file", place=name, way_out="choose another name"
            )
    if not path.is_file():
        raise OutputError("is no ordinary file", place=name, way_out="choose another name")
    if not force and not is_ours(path):
        raise OutputError(
            "exists, and neckwise did not write it",
            place=name,
            way_out="choose another name, or overwrite it with --force",
        )


def is_ours(path: Path) -> bool:
    """Whether neckwise wrote a score, compressed or not; false for what cannot be read."""
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
        return _MARK in (_unpacked_head(path) if head.startswith(b"PK") else head)
    except OSError:
        return False


def _unpacked_head(path: Path) -> bytes:
    import zipfile

    try:
        with zipfile.ZipFile(path) as archive, archive.open("score.musicxml") as member:
            return member.read(_HEAD_BYTES)
    except (KeyError, ValueError, RuntimeError, EOFError, zipfile.BadZipFile):
        return b""
    except Exception as error:
        # A damaged member raises zlib's own error, which has no public name in zipfile.
        if type(error).__name__ == "error":
            return b""
        raise


def write_file(path: Path, data: bytes) -> None:
    """Write a file under a temporary name beside it and rename it.

    Raises:
        OSError: As the system says; nothing is left behind, and an existing file is as it was.
    """
    with _temporary(path.parent) as (handle, temporary):
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if path.exists():
            temporary.chmod(path.stat().st_mode & 0o777)
        temporary.replace(path)


@contextlib.contextmanager
def _temporary(folder: Path) -> Iterator[tuple[int, Path]]:
    # Opened by hand, because `tempfile` makes files that only their owner can read.
    names = (folder / f".neckwise-{os.getpid()}-{number}.tmp" for number in itertools.count())
    temporary = next(name for name in names if not name.exists())
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
    try:
        yield handle, temporary
    finally:
        temporary.unlink(missing_ok=True)
