"""Opens a song set; one that was checked before is taken from what was kept of it.

Standard library only until a set is really checked, so that a build with nothing to do is quick.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from variants.errors import InputError, OutputError, UsageError
from variants.files import read_bytes, write_whole
from variants.limits import LIMITS, FileLimits
from variants.songset.digest import key_of, sha256, toolkit
from variants.songset.resolved import SongSet
from variants.toml_file import MOST_BYTES, parse_toml, read_text

STATE = ".neckwise"
_KEPT = "set.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A song set and its folders.

    Args:
        name: The set file as the user wrote it.
        folder: The folder of the set file, from which its sources count.
        out: The output folder.
        songs: What is to be made.
        limits: What a source may cost.
        kept: What to keep so that the next opening is quick; empty if it is kept already.
    """

    name: str
    folder: Path
    out: Path
    songs: SongSet
    limits: FileLimits = LIMITS
    kept: bytes = b""

    @property
    def state(self) -> Path:
        """The folder in the output folder where neckwise keeps what is its own."""
        return self.out / STATE

    def keep(self) -> None:
        """Write down what was found out about the set file."""
        if self.kept:
            write_whole(self.state / _KEPT, self.kept, through=self.state / "tmp")


def open_set(name: str, *, out: str = "", inside: str = "", limits: FileLimits = LIMITS) -> Opened:
    """Open a song set.

    Args:
        name: The set file.
        out: The output folder, if it is not the one that the set file names.
        inside: A folder in which the output folder may lie, besides that of the set file.
        limits: What a source may cost.

    Raises:
        InputError: The set file, or what it names, cannot be read.
        UsageError: It has a fault, with its line; or its output folder lies elsewhere.
    """
    path = Path(name)
    if path.is_dir():
        raise InputError("is a folder", place=name, way_out="name the set file in it")
    text = read_text(path)
    data = text.encode()
    folder = path.parent
    target = Path(out) if out else folder / _folder_of(text)
    _check_folder(target, name, is_named=bool(out), allowed=[str(folder), inside])
    found = _kept(target / STATE / _KEPT, data, folder)
    if found is not None:
        return Opened(name=name, folder=folder, out=target, songs=found, limits=limits)
    from variants.songset.load import level_files, parse_set

    songs = parse_set(text, name=name, folder=folder)
    files = level_files(text, folder)
    values = {
        "key": _key(data),
        "files": [[str(one.relative_to(folder)), sha256(_settings(one))] for one in files]
        if all(one.is_relative_to(folder) for one in files)
        else None,
        "set": songs.as_json(),
    }
    # The next line is what a dictionary read from the file would be, tuples being lists there.
    kept = json.dumps(values, ensure_ascii=False, sort_keys=True).encode()
    songs = SongSet.from_json(json.loads(kept)["set"])
    return Opened(name=name, folder=folder, out=target, songs=songs, limits=limits, kept=kept)


def _settings(path: Path) -> bytes:
    return read_bytes(path, most_bytes=MOST_BYTES, way_out="name another file")


def _check_folder(target: Path, name: str, *, is_named: bool, allowed: list[str]) -> None:
    """Check that an output folder lies where the user can expect it, links followed.

    A set file may come from somebody else, and a build writes and removes files: only the call
    itself can send it out of the folder of the set and of the one that the user works in.
    """
    real = os.path.realpath(target)
    if Path(real).exists() and not Path(real).is_dir():
        raise OutputError("is no folder", place=str(target), way_out="name another output folder")
    if is_named:
        if target.is_absolute():
            return
        allowed = [*allowed, os.curdir]
    folders = [os.path.realpath(one) for one in allowed if one]
    if not any(Path(real).is_relative_to(one) for one in folders):
        raise UsageError(
            f"the output folder {str(target)!r} lies outside the folder of the set file",
            place=name,
            way_out=f"name it whole, as in -o {real}, or allow it with --inside FOLDER",
        )


def _folder_of(text: str) -> str:
    """Return the output folder that a set file names, before it is checked."""
    try:
        build = parse_toml(text, "").get("build", {})
    except UsageError:
        return "out"
    found = build.get("folder", "out") if isinstance(build, dict) else "out"
    return found if isinstance(found, str) and found and "\0" not in found else "out"


def _key(data: bytes) -> str:
    return key_of(["set", 1, toolkit(), sha256(data)])


def _kept(path: Path, data: bytes, folder: Path) -> SongSet | None:
    """Return the set as it was checked before, if nothing that it hangs on has changed."""
    try:
        values: Any = json.loads(path.read_bytes())
        if values["key"] != _key(data) or values["files"] is None:
            return None
        if any(sha256(_settings(folder / name)) != found for name, found in values["files"]):
            return None
        return SongSet.from_json(values["set"])
    except (OSError, ValueError, KeyError, TypeError, InputError):
        return None


def check_sources(opened: Opened) -> None:
    """Check that the output folder is not that of the set file, which cleaning must never meet.

    Raises:
        UsageError: It is.
    """
    if opened.out.resolve() == opened.folder.resolve():
        raise UsageError(
            "the output folder is the folder of the set file",
            place=opened.name,
            way_out="name another, as in folder = 'out'",
        )
