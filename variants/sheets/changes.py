"""What changed from the source to a version: from the report that stands beside its file."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from variants.errors import InputError

# More lines than these do not fit a box that a pupil reads; the report has them all.
MOST_LINES = 8
_LARGEST_BYTES = 4_000_000
# What reading and writing did to the file is no news for the player.
_QUIET = frozenset({"read", "write", "sheet", ""})


@dataclass(frozen=True, slots=True)
class ChangeReport:
    """What a report says of a version.

    Args:
        steps: The steps that made it.
        changes: One line for each change that a player notices.
        level: Name of its level; empty for none.
        practises: What it practises, in a few words each.
    """

    steps: tuple[str, ...] = ()
    changes: tuple[str, ...] = ()
    level: str = ""
    practises: tuple[str, ...] = ()


def report_beside(file: Path) -> Path:
    """Return where the report of a version stands: the same name that ends in ``.json``.

    >>> report_beside(Path("set/riff-open.musicxml")).name
    'riff-open.json'
    """
    return file.with_suffix(".json")


def read_report(path: Path) -> ChangeReport:
    """Read a report as ``neckwise vary --json`` and ``neckwise fit --json`` print it.

    Of ``steps``, ``changes``, ``level`` and ``practises`` (texts, or objects with a ``text``)
    any may be missing.

    Raises:
        InputError: It cannot be read or is no such report.
    """
    try:
        if path.stat().st_size > _LARGEST_BYTES:
            raise InputError("the report is too large", place=str(path), way_out="make it again")
        found = json.loads(path.read_text(encoding="utf-8"))
    except OSError as error:
        raise InputError(
            f"cannot be read: {(error.strerror or str(error)).lower()}",
            place=str(path),
            way_out="check the name and the rights",
        ) from None
    except (ValueError, RecursionError):
        raise InputError(
            "is no JSON", place=str(path), way_out="write it with neckwise vary --json"
        ) from None
    if not isinstance(found, dict) or not isinstance(found.get("changes", []), list):
        raise InputError(
            "is no report of a version",
            place=str(path),
            way_out="write it with neckwise vary --json, or move it away",
        )
    return ChangeReport(
        steps=tuple(str(one) for one in found.get("steps") or () if isinstance(one, str)),
        changes=tuple(merged(found.get("changes") or [])),
        level=str(found.get("level") or ""),
        practises=_texts(found.get("practises")),
    )


def _texts(found: object) -> tuple[str, ...]:
    """Return the texts of a list of texts, or of objects that have one."""
    items = found if isinstance(found, list) else []
    texts = (one.get("text", "") if isinstance(one, dict) else one for one in items)
    return tuple(text for text in texts if isinstance(text, str) and text)


def merged(changes: list[Any]) -> list[str]:
    """Return the changes as lines; one that repeats names its measures together."""
    places: dict[str, list[str]] = {}
    for change in changes:
        if not isinstance(change, dict) or change.get("step", "") in _QUIET:
            continue
        message = " ".join(str(change.get("message", "")).split())
        measure = str(change.get("measure", ""))
        here = places.setdefault(message, [])
        if measure and measure not in here:
            here.append(measure)
    lines = []
    for message, numbers in places.items():
        if not message:
            continue
        many = len(numbers) > 5
        shown = ", ".join(numbers[:4]) + (f" and {len(numbers) - 4} more" if many else "")
        if not many:
            shown = ", ".join(numbers)
        where = f"Measure{'s' if len(numbers) > 1 else ''} {shown}: " if numbers else ""
        lines.append(where + (message if where else message[:1].upper() + message[1:]))
    return lines


def shortened(lines: tuple[str, ...]) -> list[str]:
    """Return at most so many lines as a box holds, with a word on the rest."""
    if len(lines) <= MOST_LINES:
        return list(lines)
    left = len(lines) - MOST_LINES + 1
    return [*lines[: MOST_LINES - 1], f"and {left} more changes: see the report"]
