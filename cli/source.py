"""Reading the file that a call names."""

from __future__ import annotations

import glob
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from variants.files import STANDARD_STREAM

from .limits import in_time, limits

if TYPE_CHECKING:
    from variants.score import Score

# Parts the name of a file from the number of a tune in it: ``tunes.abc#3``.
TUNE_SIGN = "#"


def load_score(name: str) -> Score:
    """Return a score as it stands in its file, octaves not settled.

    Args:
        name: A file, or ``-`` for standard input; MusicXML, or by its ending ABC, kern, MIDI, MEI.
            ``#`` and a number behind the name pick a tune of an ABC file.

    Raises:
        InputError: It cannot be read; the message begins with the name.
    """
    from variants.convert import format_of, read_other, sniffed
    from variants.errors import NeckwiseError
    from variants.musicxml import read_raw

    path, tune = split_tune(name)
    bounds = limits()
    data = load_bytes(path)
    try:
        with in_time(""):
            kind = sniffed(data) if name == STANDARD_STREAM else format_of(path)
            if kind is not None:
                return read_other(data, kind, name=path, tune=tune, limits=bounds)
            return read_raw(data, limits=bounds)
    except NeckwiseError as error:
        raise error.at(shown(name)) from None


def load_bytes(name: str) -> bytes:
    """Return what stands in a file, or on standard input, within the limits.

    Raises:
        InputError: It cannot be read, or is too large.
    """
    from variants.musicxml.source import load

    bounds = limits()
    return _from_stdin(bounds.file_bytes) if name == STANDARD_STREAM else load(name, bounds)


def _from_stdin(most_bytes: int) -> bytes:
    from variants.errors import InputError

    if sys.stdin is None:
        raise InputError(
            "is closed",
            place=shown(STANDARD_STREAM),
            way_out="pipe a score into it, or name a file",
        )
    data = sys.stdin.buffer.read(most_bytes + 1)
    if len(data) > most_bytes:
        raise InputError(
            f"is larger than {most_bytes // 2**20} MiB",
            place=shown(STANDARD_STREAM),
            way_out="split the score, or raise the limit (file_bytes)",
        )
    return data


def split_tune(name: str) -> tuple[str, str]:
    """Return the file of a name and the tune that is picked in it, empty for none.

    A file whose own name has the sign is taken as it is.
    """
    path, sign, tune = name.rpartition(TUNE_SIGN)
    if not sign or not tune.isdigit() or Path(name).exists():
        return name, ""
    return path, tune.lstrip("0") or "0"


def sources(names: Iterable[str]) -> list[str]:
    """Return the files that a call names; patterns that the shell left alone become their files.

    Raises:
        InputError: A pattern fits no file.
    """
    from variants.errors import InputError

    found: list[str] = []
    for name in names:
        if name == STANDARD_STREAM or Path(name).exists() or not glob.has_magic(name):
            found.append(name)
            continue
        fitting = sorted(glob.glob(name, recursive=True))  # noqa: PTH207 - Path has no absolute ones
        if not fitting:
            raise InputError("fits no file", place=name, way_out="check the pattern and the folder")
        found += fitting
    return list(dict.fromkeys(found))


def shown(name: str) -> str:
    """Return the name of a source for messages."""
    return "standard input" if name == STANDARD_STREAM else name
