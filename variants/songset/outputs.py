"""Brings results to the output folder, and takes away what is no longer made.

A file is only written over or removed where it is as the tool left it; what somebody changed, or
put there, stays unless it is forced. Standard library only.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from variants.files import digest_if_there, move_whole, telling, write_whole
from variants.songset.digest import sha256
from variants.songset.manifest import Manifest, Record
from variants.songset.opening import STATE
from variants.songset.resolved import ENDINGS, WHOLE_ENDINGS
from variants.songset.result import Result

PICTURE = "picture"
_PICTURES = "pictures"


@dataclass(slots=True)
class Outputs:
    """The output folder during a build.

    Args:
        manifest: What stands there already.
        names: Pattern for the names of files.
        force: Write over what somebody changed.
        edited: Paths that were left because somebody changed or made them.
        written: How many files were written.
        removed: Paths that were taken away.
    """

    manifest: Manifest
    names: str
    force: bool = False
    edited: list[str] = field(default_factory=list)
    written: int = 0
    removed: list[str] = field(default_factory=list)

    @property
    def out(self) -> Path:
        """The output folder."""
        return self.manifest.out

    def paths(self, song: str, number: int, variant: str) -> _Names:
        """Return the names of files of a unit."""
        return _Names(self.names, song, number, variant)

    def is_whole(self, record: Record) -> bool:
        """Whether all outputs of a record are as the tool left them."""
        return all(self.state(path, digest) == "" for path, digest in record.outputs.items())

    def state(self, path: str, digest: str) -> str:
        """Return ``missing``, ``edited``, or nothing for an output that is as it was left."""
        found = digest_if_there(self.out / path)
        if not found:
            return "missing"
        return "" if found == digest else "edited"

    def put(self, unit: str, key: str, files: Mapping[str, bytes], *, stem: str) -> None:
        """Write the outputs of a unit.

        Args:
            unit: Its id.
            key: Its key.
            files: What to write, by path.
            stem: How the paths begin.

        Raises:
            OutputError: The system refuses, or the disk is full.
        """
        digests = {path: sha256(data) for path, data in files.items()}
        known = dict(self.manifest.ours)
        self.manifest.note(unit, Record(key=key, stem=stem, outputs=digests))
        for path, data in files.items():
            if self._may_write(path, digests[path], known):
                write_whole(self.out / path, data, through=self.out / STATE / "tmp")
                self.written += 1

    def put_made(self, unit: str, key: str, files: Mapping[str, Path]) -> None:
        """Bring outputs of a unit to their places that are made already, being too large to hold.

        Args:
            unit: Its id.
            key: Its key.
            files: Temporary files on the same disk, by the path of the output.

        Raises:
            OutputError: The system refuses.
        """
        digests = {path: digest_if_there(made) for path, made in files.items()}
        known = dict(self.manifest.ours)
        self.manifest.note(unit, Record(key=key, outputs=digests))
        for path, made in files.items():
            if self._may_write(path, digests[path], known):
                move_whole(made, self.out / path)
                self.written += 1
            else:
                made.unlink(missing_ok=True)

    def _may_write(self, path: str, digest: str, known: Mapping[str, tuple[str, ...]]) -> bool:
        """Whether an output must be written and may be."""
        found = digest_if_there(self.out / path)
        if found == digest:
            return False
        if found and found not in known.get(path, ()) and not self.force:
            self.edited.append(path)
            return False
        return True

    def clean(self, unwanted: Iterable[str]) -> None:
        """Remove outputs that are no longer made, and folders that this leaves empty.

        Args:
            unwanted: Their paths.
        """
        for path in unwanted:
            file = self.out / path
            found = digest_if_there(file)
            if not found:
                continue
            if found not in self.manifest.ours.get(path, ()) and not self.force:
                self.edited.append(path)
                continue
            with telling(file):
                file.unlink()
            self.removed.append(path)
            for folder in file.parents:
                if folder == self.out:
                    break
                with contextlib.suppress(OSError):
                    folder.rmdir()

    def sweep(self) -> None:
        """Remove temporary files that a killed build left."""
        for path in (self.out / STATE / "tmp").glob("*"):
            with contextlib.suppress(OSError):
                path.unlink()


@dataclass(frozen=True, slots=True)
class _Names:
    """Names of the files of one unit."""

    pattern: str
    song: str
    number: int
    variant: str

    def stem(self, member: str = "") -> str:
        """Return the path of its files without their ending."""
        variant = f"{self.variant}-{member}" if member else self.variant
        values = {"song": self.song, "variant": variant, "number": f"{self.number:03}"}
        return self.pattern.format(**values)

    def path(self, kind: str, member: str = "") -> str:
        """Return the path of a file in the output folder."""
        if kind == PICTURE:
            return f"{_PICTURES}/{self.song}.svg"
        return self.stem(member) + (ENDINGS.get(kind) or WHOLE_ENDINGS[kind])

    def files(self, result: Result) -> dict[str, bytes]:
        """Return the files of a result by path."""
        return {
            self.path(kind, piece.member): data
            for piece in result.pieces
            for kind, data in piece.files.items()
        }
