"""Results kept by their keys. Standard library only.

Each entry carries its own hash; one that was changed or cut short is thrown away and made again.
"""

from __future__ import annotations

import contextlib
from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path

from variants.errors import InputError
from variants.files import read_if_there, write_whole
from variants.songset.result import Damaged, Result, unpack


@dataclass(slots=True)
class Cache:
    """A folder of results; several builds may use one.

    Args:
        folder: The folder.
        damaged: How many entries were found that were not as they were written.
    """

    folder: Path
    damaged: int = 0

    def get(self, key: str) -> Result | None:
        """Return the result of a key; ``None`` if there is none that is whole."""
        path = self._path(key)
        try:
            data = read_if_there(path)
        except InputError:
            # A disk that cannot read its entry has lost it.
            data = b""
        if data is None:
            return None
        try:
            return unpack(data)
        except Damaged:
            self.damaged += 1
            with contextlib.suppress(OSError):
                path.unlink()
            return None

    def has(self, key: str) -> bool:
        """Whether there is an entry for a key, whole or not."""
        return self._path(key).is_file()

    def put(self, key: str, data: bytes) -> None:
        """Keep the packed result of a key.

        Raises:
            OutputError: The system refuses, or the disk is full.
        """
        write_whole(self._path(key), data, through=self.folder / "tmp")

    def drop_all_but(self, keys: Collection[str]) -> int:
        """Remove the entries of all other keys; return how many there were."""
        dropped = 0
        for path in sorted(self.folder.glob("??/*")):
            if path.name not in keys:
                path.unlink(missing_ok=True)
                dropped += 1
        return dropped

    def _path(self, key: str) -> Path:
        return self.folder / key[:2] / key
