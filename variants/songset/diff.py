"""What differs between two builds: songs, measures, fingerings. From their reports alone."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from variants.errors import InputError
from variants.files import read_bytes

# The report's format; `variants.songset.report` writes it and imports more than a diff needs.
_FORMAT = 1
# A variant takes some 2 kB of a report, so this holds a hundred thousand of them.
_MOST_BYTES = 256 * 2**20
_SHOWN = 8

Measure = tuple[str, str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A variant that differs.

    Args:
        name: ``song/variant``, with the member of a family.
        state: What became of it, where that differs: ``made -> refused``.
        music: Printed numbers of measures whose notes differ, as numbered now.
        added: Measures that were not there before.
        removed: Measures that are no longer there.
        fingerings: Measures of the same notes that are played otherwise: number, before, now.
        facts: What else differs, by name: before and now.
    """

    name: str
    state: str = ""
    music: tuple[str, ...] = ()
    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    fingerings: tuple[tuple[str, str, str], ...] = ()
    facts: tuple[tuple[str, str, str], ...] = ()

    def sentence(self) -> str:
        """Return what differs in one line."""
        texts = [self.state] if self.state else []
        texts += [
            f"{text} {_few(numbers)}"
            for text, numbers in (
                ("other notes in", self.music),
                ("new", self.added),
                ("gone", self.removed),
                ("same notes, other fingering in", tuple(one[0] for one in self.fingerings)),
            )
            if numbers
        ]
        texts += [
            f"{name} was {before or 'none'}, is {now or 'none'}" for name, before, now in self.facts
        ]
        return "; ".join(texts) or "the same music, written otherwise"

    def lines(self) -> Iterator[str]:
        """Yield each fingering that differs: string.fret(finger) before and now."""
        for number, before, now in self.fingerings[:_SHOWN]:
            yield f"measure {number}: {before or 'no places'} -> {now or 'no places'}"
        left = len(self.fingerings) - _SHOWN
        if left > 0:
            yield f"and {left} more"


@dataclass(frozen=True, slots=True, kw_only=True)
class SetDifference:
    """What differs between two builds, by variant."""

    added: tuple[str, ...]
    removed: tuple[str, ...]
    changed: tuple[Changed, ...]

    @property
    def is_empty(self) -> bool:
        """Whether nothing differs."""
        return not (self.added or self.removed or self.changed)

    def as_json(self) -> dict[str, Any]:
        """Return the difference as JSON values."""
        return asdict(self)


def read_report(path: Path) -> Mapping[str, Any]:
    """Return a report.

    Raises:
        InputError: It cannot be read, or is no report of this version.
    """
    data = read_bytes(path, most_bytes=_MOST_BYTES, way_out="name a report.json")
    try:
        values: Mapping[str, Any] = json.loads(data)
        version = values["neckwise-report"]
    except (ValueError, KeyError, TypeError):
        raise InputError(
            "is no report of a build", place=str(path), way_out="name a report.json"
        ) from None
    if version != _FORMAT:
        raise InputError(
            f"is a report of format {version}, and this neckwise reads {_FORMAT}",
            place=str(path),
            way_out="build it again with this version",
        )
    return values


def compare(old: Mapping[str, Any], new: Mapping[str, Any]) -> SetDifference:
    """Return what differs between two reports.

    Raises:
        InputError: One of them is not whole.
    """
    try:
        before, now = dict(_variants(old)), dict(_variants(new))
        changed = [
            found
            for name, one in now.items()
            if name in before and (found := _changed(name, before[name], one)) is not None
        ]
    except (KeyError, TypeError, ValueError):
        raise InputError("a report is not whole", way_out="build it again") from None
    return SetDifference(
        added=tuple(name for name in now if name not in before),
        removed=tuple(name for name in before if name not in now),
        changed=tuple(changed),
    )


def _variants(report: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for song in report["songs"]:
        for unit in song["variants"]:
            head = {name: unit[name] for name in ("key", "state", "reason")}
            if not unit["pieces"]:
                yield unit["id"], head
            for piece in unit["pieces"]:
                member = f"-{piece['member']}" if piece["member"] else ""
                yield unit["id"] + member, {**head, **piece}


def _changed(name: str, old: Mapping[str, Any], new: Mapping[str, Any]) -> Changed | None:
    if old["key"] == new["key"] and old["state"] == new["state"]:
        return None
    state = "" if old["state"] == new["state"] else f"{old['state']} -> {new['state']}"
    facts = tuple(
        (fact, _text(old.get(fact)), _text(new.get(fact)))
        for fact in ("key-signature", "range", "positions", "steps", "title", "reason", "pages")
        if _text(old.get(fact)) != _text(new.get(fact))
    )
    if state or "measures" not in old or "measures" not in new:
        return Changed(name=name, state=state, facts=facts) if state or facts else None
    music, added, removed, fingerings = _measures(old["measures"], new["measures"])
    found = Changed(
        name=name, music=music, added=added, removed=removed, fingerings=fingerings, facts=facts
    )
    return found if music or added or removed or fingerings or facts else None


def _text(value: object) -> str:
    if isinstance(value, list):
        return " ".join(map(str, value))
    return "" if value is None else str(value)


def _measures(
    old: Sequence[Measure], new: Sequence[Measure]
) -> tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...], tuple[Measure, ...]]:
    """Return the numbers of measures with other notes, new ones, gone ones, and fingerings."""
    music: list[str] = []
    added: list[str] = []
    removed: list[str] = []
    fingerings: list[Measure] = []
    matcher = difflib.SequenceMatcher(
        a=[one[1] for one in old], b=[one[1] for one in new], autojunk=False
    )
    for kind, a, b, c, d in matcher.get_opcodes():
        if kind == "equal":
            fingerings += [
                (now[0], before[2], now[2])
                for before, now in zip(old[a:b], new[c:d], strict=True)
                if before[2] != now[2]
            ]
            continue
        both = min(b - a, d - c)
        music += [one[0] for one in new[c : c + both]]
        added += [one[0] for one in new[c + both : d]]
        removed += [one[0] for one in old[a + both : b]]
    return tuple(music), tuple(added), tuple(removed), tuple(fingerings)


def _few(numbers: Sequence[str]) -> str:
    shown = ", ".join(numbers[:_SHOWN])
    left = len(numbers) - _SHOWN
    more = f" and {left} more" if left > 0 else ""
    return f"measure{'s' if len(numbers) > 1 else ''} {shown}{more}"
