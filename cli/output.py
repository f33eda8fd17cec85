"""Writing files so that a failed run leaves everything as it was."""

from __future__ import annotations

import contextlib
import itertools
import os
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from variants.errors import OutputError
from variants.files import DEVICES

STANDARD_STREAM = "-"
SCORE_ENDINGS = (".musicxml", ".xml", ".mxl")
# Our mark stands in the identification, which comes before the first part.
_MARK = b"<software>neckwise</software>"
_HEAD_BYTES = 16384


@dataclass(frozen=True, slots=True)
class Target:
    """Where a score goes.

    Args:
        name: As the user wrote it.
        path: The file, links followed; ``None`` for standard output.
    """

    name: str
    path: Path | None

    @property
    def is_stream(self) -> bool:
        """Whether the score goes to standard output, so that messages must not."""
        return self.path is None

    @property
    def is_compressed(self) -> bool:
        """Whether the ending asks for compressed MusicXML."""
        return self.path is not None and self.path.suffix.lower() == ".mxl"


def score_target(text: str, *, source: str, force: bool) -> Target:
    """Return where a score goes, checked before any work is done.

    Args:
        text: A file, or ``-`` for standard output.
        source: The file that is read, which is never overwritten.
        force: Overwrite a file that neckwise did not write.

    Raises:
        OutputError: The place cannot be written, or must not be.
    """
    if text == STANDARD_STREAM:
        return Target(text, None)
    path = Path(os.path.realpath(text))
    if path.is_dir():
        raise OutputError(
            "is a folder", place=text, way_out="name a file in it that ends in .musicxml or .mxl"
        )
    if path.suffix.lower() not in SCORE_ENDINGS:
        raise OutputError(
            "the output is MusicXML, and this name does not say so",
            place=text,
            way_out=f"let it end in {', '.join(SCORE_ENDINGS[:-1])} or {SCORE_ENDINGS[-1]}",
        )
    check_free(path, text, sources=(source,), force=force)
    return Target(text, path)


def numbered(target: Target, count: int, *, source: str, force: bool) -> list[Target]:
    """Return a target and its numbered companions: ``a.xml``, ``a-2.xml``, ``a-3.xml``.

    Raises:
        OutputError: One of them must not be written, or all would go to standard output.
    """
    if target.path is None:
        if count == 1:
            return [target]
        raise OutputError(
            f"{count} scores cannot all go to standard output", way_out="name a file with -o"
        )
    path = target.path
    names = [path.with_stem(f"{path.stem}-{number}") for number in range(2, count + 1)]
    for name in names:
        check_free(name, str(name), sources=(source,), force=force)
    return [target, *(Target(str(name), name) for name in names)]


def checked_folder(text: str) -> Path:
    """Return a folder that is there, or can be made because its own folder is.

    Raises:
        OutputError: It is neither.
    """
    folder = Path(os.path.realpath(text))
    if folder.exists() and not folder.is_dir():
        raise OutputError("is no folder", place=text, way_out="name a folder for the scores")
    if not folder.exists() and not folder.parent.is_dir():
        raise OutputError(
            f"there is no folder {str(folder.parent)!r}",
            place=text,
            way_out="make it first, or choose another",
        )
    return folder


def made_folder(text: str) -> str:
    """Return the name of a folder, which is made if it is not there.

    Raises:
        OutputError: It cannot be made, or something else has its name.
    """
    folder = checked_folder(text)
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise OutputError(
            f"cannot be made: {reason}", place=text, way_out="choose another folder"
        ) from None
    return text


def folder_targets(text: str, names: Sequence[str], *, source: str, force: bool) -> list[Target]:
    """Return a target for each name in a folder, which is made if it is not there.

    Raises:
        OutputError: The folder cannot be made, or one of the files must not be written.
    """
    folder = Path(os.path.realpath(made_folder(text)))
    for name in names:
        check_free(folder / name, str(Path(text) / name), sources=(source,), force=force)
    return [Target(str(Path(text) / name), folder / name) for name in names]


def check_free(path: Path, name: str, *, sources: tuple[str, ...], force: bool) -> None:
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


def write(target: Target, data: bytes) -> None:
    """Write a score to its target, whole or not at all.

    Raises:
        OutputError: The system does not allow it, or the disk is full.
    """
    if target.path is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    try:
        write_file(target.path, data)
    except OSError as error:
        reason = (error.strerror or str(error)).lower()
        raise OutputError(
            f"cannot be written: {reason}",
            place=target.name,
            way_out="check the rights and the room in its folder",
        ) from None


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
