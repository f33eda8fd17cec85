"""Opens a song set; one that was checked before is taken from what was kept of it.

Standard library only until a set is really checked, so that a build with nothing to do is quick.
"""

from __future__ import annotations

import json
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from variants.errors import InputError, OutputError, UsageError
from variants.songset.digest import key_of, sha256, toolkit
from variants.songset.files import read_bytes, write_whole
from variants.songset.resolved import SongSet

STATE = ".neckwise"
_KEPT = "set.json"
_MOST_BYTES = 10_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """A song set and its folders.

    Args:
        name: The set file as the user wrote it.
        folder: The folder of the set file, from which its sources count.
        out: The output folder.
        songs: What is to be made.
        kept: What to keep so that the next opening is quick; empty if it is kept already.
    """

    name: str
    folder: Path
    out: Path
    songs: SongSet
    kept: bytes = b""

    @property
    def state(self) -> Path:
        """The folder in the output folder where neckwise keeps what is its own."""
        return self.out / STATE

    def keep(self) -> None:
        """Write down what was found out about the set file."""
        if self.kept:
            write_whole(self.state / _KEPT, self.kept, through=self.state / "tmp")


def open_set(name: str, *, out: str = "") -> Opened:
    """Open a song set.

    Args:
        name: The set file.
        out: The output folder, if it is not the one that the set file names.

    Raises:
        InputError: The set file, or what it names, cannot be read.
        UsageError: It has a fault; names its line.
    """
    path = Path(name)
    if path.is_dir():
        raise InputError("is a folder", place=name, way_out="name the set file in it")
    data = read_bytes(path)
    text = _text(data, name)
    folder = path.parent
    target = Path(out) if out else folder / _folder_of(text)
    if target.exists() and not target.is_dir():
        raise OutputError("is no folder", place=str(target), way_out="name another output folder")
    found = _kept(target / STATE / _KEPT, data, folder)
    if found is not None:
        return Opened(name=name, folder=folder, out=target, songs=found)
    from variants.songset.load import level_files, parse_set

    songs = parse_set(text, name=name, folder=folder)
    files = level_files(text, folder)
    values = {
        "key": _key(data),
        "files": [[str(one.relative_to(folder)), sha256(read_bytes(one))] for one in files]
        if all(one.is_relative_to(folder) for one in files)
        else None,
        "set": songs.as_json(),
    }
    # The next line is what a dictionary read from the file would be, tuples being lists there.
    kept = json.dumps(values, ensure_ascii=False, sort_keys=True).encode()
    songs = SongSet.from_json(json.loads(kept)["set"])
    return Opened(name=name, folder=folder, out=target, songs=songs, kept=kept)


def _text(data: bytes, name: str) -> str:
    if len(data) > _MOST_BYTES:
        raise InputError("is too large for a set file", place=name, way_out="name another file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError("is no text in UTF-8", place=name, way_out="save it as UTF-8") from None


def _folder_of(text: str) -> str:
    """Return the output folder that a set file names, before it is checked."""
    try:
        build = tomllib.loads(text).get("build", {})
    except tomllib.TOMLDecodeError:
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
        if any(sha256((folder / name).read_bytes()) != found for name, found in values["files"]):
            return None
        return SongSet.from_json(values["set"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def check_sources(opened: Opened) -> None:
    """Check that no output folder holds the sources, which cleaning must never meet.

    Raises:
        UsageError: It is the folder of the set file.
    """
    if opened.out.resolve() == opened.folder.resolve():
        raise UsageError(
            "the output folder is the folder of the set file",
            place=opened.name,
            way_out="name another, as in folder = 'out'",
        )
