"""What the tool has written into an output folder: the manifest, and the journal of a build.

The manifest stands beside the outputs and may be committed with them; it holds nothing that two
equal builds could have differently. The journal is written ahead of each output and folded into
the manifest at the end, so a build that is killed leaves no output that nobody knows.
Standard library only.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import IO, Any

from variants.errors import InputError
from variants.files import read_if_there, telling, write_whole
from variants.songset.opening import STATE

MANIFEST = "manifest.json"
_JOURNAL = "journal"
_FORMAT = 1


# How the reason begins why a recipe that changes nothing of a song is skipped.
UNCHANGED = "it would be the piece as it is"


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What is known of one unit.

    Args:
        key: Key of the result that its outputs hold; empty if there are none.
        stem: How the names of its outputs begin.
        outputs: Hash of each output, by its path in the output folder.
        refused_key: Key for which it was refused since; empty if it was not.
        refusal: Why, in one line.
    """

    key: str = ""
    stem: str = ""
    outputs: Mapping[str, str] = field(default_factory=dict)
    refused_key: str = ""
    refusal: str = ""

    @property
    def is_skipped(self) -> bool:
        """Whether it was not made because it would be the piece as it is."""
        return self.refusal.startswith(UNCHANGED)

    def as_json(self) -> dict[str, Any]:
        """Return what is not empty as JSON values."""
        values = {
            "key": self.key,
            "stem": self.stem,
            "outputs": dict(sorted(self.outputs.items())),
            "refused-key": self.refused_key,
            "refusal": self.refusal,
        }
        return {name: value for name, value in values.items() if value}

    @classmethod
    def from_json(cls, values: Mapping[str, Any]) -> Record:
        """Return the record that `as_json` gave."""
        return cls(
            key=str(values.get("key", "")),
            stem=str(values.get("stem", "")),
            outputs={str(k): str(v) for k, v in values.get("outputs", {}).items()},
            refused_key=str(values.get("refused-key", "")),
            refusal=str(values.get("refusal", "")),
        )


@dataclass(slots=True)
class Manifest:
    """The records of an output folder.

    Args:
        out: The folder.
        records: The record of each unit by its id.
        ours: For each path all hashes that the tool has given it since the last whole build.
        was_cut: Whether the last build did not come to its end.
    """

    out: Path
    records: dict[str, Record] = field(default_factory=dict)
    ours: dict[str, tuple[str, ...]] = field(default_factory=dict)
    was_cut: bool = False
    _journal: IO[bytes] | None = None

    @classmethod
    def load(cls, out: Path) -> Manifest:
        """Return the manifest of a folder, with what a journal adds to it.

        Raises:
            InputError: It cannot be read or is no manifest.
        """
        found = cls(out)
        data = read_if_there(out / MANIFEST)
        if data is not None:
            for name, record in _records(data, out / MANIFEST):
                found._take(name, record)
        for line in (read_if_there(out / STATE / _JOURNAL) or b"").splitlines():
            found.was_cut = True
            try:
                name, values = json.loads(line)
                found._take(name, Record.from_json(values))
            except (ValueError, TypeError, AttributeError):
                # A build was killed here, its outputs not yet begun; the next went on below.
                continue
        return found

    def _take(self, name: str, record: Record) -> None:
        self.records[name] = record
        for path, digest in record.outputs.items():
            known = self.ours.get(path, ())
            if digest not in known:
                self.ours[path] = (*known, digest)

    def note(self, name: str, record: Record) -> None:
        """Write a record into the journal; call this before its outputs are written.

        Raises:
            OutputError: The system refuses, or the disk is full.
        """
        path = self.out / STATE / _JOURNAL
        line = json.dumps([name, record.as_json()], ensure_ascii=False).encode() + b"\n"
        with telling(path):
            if self._journal is None:
                path.parent.mkdir(parents=True, exist_ok=True)
                self._journal = path.open("ab")
                if self._journal.tell() and self.was_cut:
                    # A line that was cut short must not swallow the next one.
                    line = b"\n" + line
            self._journal.write(line)
            self._journal.flush()
        self._take(name, record)

    def drop(self, name: str) -> None:
        """Forget a unit; its outputs stay known as ours until the end of the build."""
        self.records.pop(name, None)

    def save(self, order: Iterable[str]) -> None:
        """Write the manifest and end the journal.

        Args:
            order: The ids of the plan; all others follow them, sorted.

        Raises:
            OutputError: The system refuses, or the disk is full; the journal stays.
        """
        names = [name for name in order if name in self.records]
        names += sorted(self.records.keys() - set(names))
        lines = [
            f"{json.dumps(name, ensure_ascii=False)}: "
            f"{json.dumps(self.records[name].as_json(), ensure_ascii=False)}"
            for name in names
        ]
        body = ",\n".join(lines)
        text = f'{{"neckwise-manifest": {_FORMAT}, "units": {{\n{body}\n}}}}\n'
        state = self.out / STATE
        old = read_if_there(self.out / MANIFEST)
        if old != text.encode():
            write_whole(self.out / MANIFEST, text.encode(), through=state / "tmp", lasting=True)
        self.close()
        with telling(state / _JOURNAL):
            (state / _JOURNAL).unlink(missing_ok=True)

    def close(self) -> None:
        """Close the journal, which stays."""
        if self._journal is not None:
            self._journal.close()
            self._journal = None


def _records(data: bytes, path: Path) -> Iterable[tuple[str, Record]]:
    wrong = InputError(
        "is no manifest of neckwise", place=str(path), way_out="move it away, or restore it"
    )
    try:
        values = json.loads(data)
        if values["neckwise-manifest"] != _FORMAT:
            raise InputError(
                "was written by another version of neckwise",
                place=str(path),
                way_out="build into an empty folder",
            )
        return [(name, Record.from_json(one)) for name, one in values["units"].items()]
    except (ValueError, KeyError, TypeError, AttributeError):
        raise wrong from None


def settled(record: Record, key: str) -> Record:
    """Return a record without a refusal that no longer holds.

    Args:
        record: The record.
        key: Key of its unit now.
    """
    if not record.refused_key or record.refused_key == key:
        return record
    return replace(record, refused_key="", refusal="")


def refused(before: Record | None, key: str, refusal: str) -> Record:
    """Return the record of a unit that was refused; outputs that it had before stay known."""
    return replace(before or Record(), refused_key=key, refusal=refusal)
