"""Writing files so that a failed run leaves everything as it was."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from variants.errors import OutputError
from variants.files import STANDARD_STREAM, check_free, write_file

SCORE_ENDINGS = (".musicxml", ".xml", ".mxl")


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
