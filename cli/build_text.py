"""What `neckwise build` says: the plan, the bar, the outcome, and what differs from before."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Self

from .text import bar, count, show, show_json, table, wrapped

if TYPE_CHECKING:
    from variants.songset.build import Summary
    from variants.songset.diff import SetDifference
    from variants.songset.opening import Opened
    from variants.songset.standing import Standing

# Longer lists are cut on a terminal; --json has all of them.
_MOST_LINES = 40
_PERIOD_S = 0.2
_COMMANDS = {"edited": "warning", "left over": "warning"}
_TEXTS = {
    "new": "was never made",
    "stale": "is stale: its song, its recipe or the toolkit has changed",
    "moved": "has another name now",
    "missing": "is missing",
    "edited": "was edited by hand, or made by something else",
    "left over": "is no longer made by this set",
    "refused": "cannot be made",
    "skipped": "would be the piece as it is",
    "unreadable": "cannot be read",
    "failed": "failed",
}


class ProgressBar:
    """A bar on a terminal with the time that is left; nothing in a pipe."""

    def __init__(self, *, shows: bool) -> None:
        self._shows = shows and sys.stderr.isatty()
        self._total = self._done = 0
        self._start = self._last = 0.0

    def __enter__(self) -> Self:
        return self

    def begin(self, units: int) -> None:
        """Take note of how many units are to be made."""
        self._total = units
        self._start = time.monotonic()

    def step(self, units: int, song: str) -> None:
        """Take note that so many units of a song are done."""
        self._done += units
        now = time.monotonic()
        if self._shows and now - self._last >= _PERIOD_S:
            self._last = now
            left = (now - self._start) / self._done * (self._total - self._done)
            share = self._done / max(1, self._total)
            text = f"{bar(share)} {self._done} of {self._total}, {clock(left)} left, {song}"
            sys.stderr.write(f"\r\x1b[2K{text}")
            sys.stderr.flush()

    def __exit__(self, *_: object) -> None:
        if self._shows and self._last:
            sys.stderr.write("\r\x1b[2K")
            sys.stderr.flush()


def clock(seconds: float) -> str:
    """Return a time that is left in minutes and seconds.

    >>> clock(75.2), clock(3601)
    ('1:15', '60:01')
    """
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"


def summary_shown(opened: Opened, summary: Summary, shape: str) -> None:
    """Print how a build went."""
    if shape == "json":
        show_json(_summary_json(opened, summary))
        return
    problems = [*summary.refused, *summary.failed]
    if shape == "github":
        show(_command(opened, one) for one in problems)
        show(f"::warning::{_data(path)} {_TEXTS['edited']}" for path in summary.edited)
    what = f"{opened.name}: {count(summary.units, 'result')} in {opened.out}"
    head = (
        f"{what}: {summary.made} made, {summary.kept} from the cache, {summary.fresh} as they "
        f"were; {count(summary.written, 'file')} written, {len(summary.removed)} removed"
    )
    if not (summary.made or summary.kept or summary.written or summary.removed):
        head = f"{what}: nothing to do"
    lines = [head]
    if summary.went_on:
        lines.append("An earlier build was cut off; this one went on from there.")
    if summary.damaged:
        lines.append(f"{count(summary.damaged, 'kept result')} was damaged and made again.")
    if shape == "text":
        lines += _cut([f"not made: {one.unit}: {_reason(one)}" for one in problems])
        lines += _cut([f"skipped: {one.unit}: {_reason(one)}" for one in summary.skipped])
        lines += _cut(
            [
                f"left alone: {path} {_TEXTS['edited']} (--force writes over it)"
                for path in summary.edited
            ]
        )
    show(text for line in lines for text in wrapped(line, other="  "))


def _reason(one: Standing) -> str:
    return one.text or _TEXTS[one.state]


def _cut(lines: list[str]) -> list[str]:
    left = len(lines) - _MOST_LINES
    return lines if left <= 0 else [*lines[:_MOST_LINES], f"and {left} more (--json has them all)"]


def _summary_json(opened: Opened, summary: Summary) -> dict[str, Any]:
    return {
        "set": opened.name,
        "folder": str(opened.out),
        "units": summary.units,
        "made": summary.made,
        "from_cache": summary.kept,
        "unchanged": summary.fresh,
        "files_written": summary.written,
        "removed": summary.removed,
        "edited": summary.edited,
        "refused": [{"variant": one.unit, "reason": one.text} for one in summary.refused],
        "skipped": [{"variant": one.unit, "reason": one.text} for one in summary.skipped],
        "failed": [{"variant": one.unit, "reason": one.text} for one in summary.failed],
        "damaged_cache_entries": summary.damaged,
        "went_on": summary.went_on,
    }


def check_shown(opened: Opened, found: Sequence[Standing], shape: str) -> None:
    """Print what a check found."""
    if shape == "json":
        values = [
            {"variant": one.unit, "state": one.state, "path": one.path, "reason": one.text}
            for one in found
        ]
        show_json({"set": opened.name, "folder": str(opened.out), "findings": values})
        return
    if shape == "github":
        show(_command(opened, one) for one in found)
    if not found:
        show([f"{opened.name}: everything in {opened.out} is as it should be"])
    elif shape == "text":
        lines = _cut([_line(one) for one in found])
        show(text for line in lines for text in wrapped(line, other="  "))
        show([f"{opened.name}: {count(len(found), 'finding')} in {opened.out}"])


def _line(one: Standing) -> str:
    what = one.unit.removeprefix("/")
    where = f" ({one.path})" if one.path else ""
    reason = f": {one.text}" if one.text else ""
    return f"{what}{where} {_TEXTS[one.state]}{reason}"


def _command(opened: Opened, one: Standing) -> str:
    """Return a finding as a workflow command, at the source or at the output that it is about.

    Source: the documentation of workflow commands of that build service, from memory.
    """
    folder = opened.folder if one.state in ("unreadable", "refused") else opened.out
    path = f" file={_property(str(folder / one.path))}," if one.path else " "
    kind = _COMMANDS.get(one.state, "error")
    return f"::{kind}{path}title={_property(one.unit.removeprefix('/'))}::{_data(_line(one))}"


def _data(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def _property(text: str) -> str:
    return _data(text).replace(":", "%3A").replace(",", "%2C")


def plan_shown(opened: Opened, *, is_json: bool) -> None:
    """Print the plan of a set, with how each unit stands."""
    from variants.songset.manifest import Manifest
    from variants.songset.outputs import Outputs
    from variants.songset.standing import survey

    situation = survey(opened, Outputs(Manifest.load(opened.out), opened.songs.names))
    rows = [
        (song, unit, situation.standings[unit.id])
        for song in situation.songs
        for unit in song.units
    ]
    removed = [path for paths in situation.left_over.values() for path in paths]
    if is_json:
        units = [
            {
                "variant": unit.id,
                "source": song.song.shown,
                "source_sha256": song.sha256,
                "key": unit.key,
                "state": standing.state,
            }
            for song, unit, standing in rows
        ]
        unread = [
            {"source": one.song.shown, "reason": one.fault} for one in situation.songs if one.fault
        ]
        values = {"set": opened.name, "folder": str(opened.out), "units": units}
        show_json({**values, "unreadable": unread, "removed": removed})
        return
    cells = [
        (unit.id, song.song.shown, standing.state, unit.key[:12]) for song, unit, standing in rows
    ]
    show(table(("variant", "source", "state", "key"), cells))
    show(f"{one.song.shown}: {one.fault}" for one in situation.songs if one.fault)
    show(f"to be removed: {path}" for path in removed)
    waiting = len(situation.waiting)
    show(["", f"{count(len(rows), 'variant')}, {waiting} to be made or brought back"])


def diff_shown(diff: SetDifference, *, is_json: bool) -> None:
    """Print what differs between two builds."""
    if is_json:
        show_json(diff.as_json())
        return
    lines = list(_diff_lines(diff))
    show(text for line in lines for text in wrapped(line, other="    "))


def _diff_lines(diff: SetDifference) -> Iterator[str]:
    if diff.is_empty:
        yield "No variant differs from the older report."
    for name in diff.added:
        yield f"new: {name}"
    for name in diff.removed:
        yield f"gone: {name}"
    for one in diff.changed:
        yield f"{one.name}: {one.sentence()}"
        yield from (f"  {line}" for line in one.lines())
