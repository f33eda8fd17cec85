"""A song set to start from: files that build at once. Standard library only."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import resources
from importlib.resources.abc import Traversable
from pathlib import Path

from variants.errors import OutputError
from variants.files import telling

SET_NAME = "set.toml"
_FOLDER = "start"


def start(folder: Path) -> list[Path]:
    """Write a song set into a folder; nothing that is there is touched.

    Args:
        folder: The folder; it is made, but its own folder must be there.

    Returns:
        What was written, the set file first.

    Raises:
        OutputError: One of the files is there already, or the system refuses; nothing is written.
    """
    shown = str(folder)
    if folder.exists() and not folder.is_dir():
        raise OutputError("is no folder", place=shown, way_out="name another")
    if not folder.absolute().parent.is_dir():
        raise OutputError(
            f"there is no folder {str(folder.parent)!r}", place=shown, way_out="make it first"
        )
    files = dict(_files(resources.files("variants.songset") / _FOLDER, Path()))
    for name in files:
        if (folder / name).exists():
            raise OutputError(
                "is there already, and is never written over",
                place=str(folder / name),
                way_out="name another folder",
            )
    written = []
    for name, data in files.items():
        path = folder / name
        with telling(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("xb") as file:
                file.write(data)
        written.append(path)
    return sorted(written, key=lambda path: (path.name != SET_NAME, path))


def _files(folder: Traversable, path: Path) -> Iterator[tuple[Path, bytes]]:
    for one in sorted(folder.iterdir(), key=lambda each: each.name):
        if one.is_dir():
            yield from _files(one, path / one.name)
        else:
            yield path / one.name, one.read_bytes()
