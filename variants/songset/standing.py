"""How each unit of a plan stands against an output folder; nothing is written here.

Standard library only: a build with nothing to do comes no further than this.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from variants.errors import UsageError
from variants.files import DEVICES
from variants.songset.digest import key_of, toolkit
from variants.songset.manifest import Manifest
from variants.songset.opening import Opened
from variants.songset.outputs import Outputs
from variants.songset.plan import PlannedSong, Unit, plan

# The report and the index page are a unit too; no song can have this name.
REPORT = "/report"
REPORT_FILE = "report.json"
INDEX_FILE = "index.html"
# A page of a variant must not take the place of the page of all songs.
_TAKEN = {"index": "the index page"}


# What a build has nothing to do for.
_SETTLED = ("fresh", "refused", "skipped")


@dataclass(frozen=True, slots=True)
class Standing:
    """How a unit stands.

    Args:
        unit: Its id.
        state: ``fresh``, ``refused``, ``skipped``, ``new``, ``stale``, ``moved``, ``missing`` or
            ``edited``; ``unreadable`` for a song; ``left over`` for what is no longer in the plan.
        path: The first output that is not as it should be; empty if it is not about one.
        text: Why, where there is more to say.
    """

    unit: str
    state: str
    path: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """A plan and how all of it stands.

    Args:
        songs: The songs with their units, in order.
        standings: How each unit stands, by its id, in order.
        left_over: Outputs on record that nothing in the plan makes any more, by unit.
    """

    songs: tuple[PlannedSong, ...]
    standings: dict[str, Standing]
    left_over: dict[str, tuple[str, ...]]

    @property
    def waiting(self) -> list[Standing]:
        """The units that a build must do something for."""
        return [one for one in self.standings.values() if one.state not in _SETTLED]

    @property
    def order(self) -> list[str]:
        """The ids of all units, in order."""
        return [*self.standings, REPORT]


def survey(opened: Opened, outputs: Outputs) -> Situation:
    """Return how the units of a set stand.

    Raises:
        UsageError: The plan cannot be made, or two outputs would have one name.
    """
    songs = tuple(plan(opened))
    _check_sources(opened, songs, _check_names(opened, songs, outputs))
    standings: dict[str, Standing] = {}
    for song in songs:
        for unit in song.units:
            stem = outputs.paths(song.song.name, song.song.number, unit.name).stem()
            standings[unit.id] = _standing(unit, stem, outputs)
    return Situation(
        songs=songs,
        standings=standings,
        left_over=dict(_left_over(songs, standings, outputs.manifest)),
    )


def _standing(unit: Unit, stem: str, outputs: Outputs) -> Standing:
    record = outputs.manifest.records.get(unit.id)
    if record is None:
        return Standing(unit.id, "new")
    if record.refused_key == unit.key:
        state = "skipped" if record.is_skipped else "refused"
        return Standing(unit.id, state, text=record.refusal)
    if record.key != unit.key:
        path = next(iter(record.outputs), "")
        return Standing(unit.id, "stale" if record.key else "new", path)
    if record.stem != stem:
        return Standing(unit.id, "moved", stem)
    for path, digest in record.outputs.items():
        state = outputs.state(path, digest)
        if state:
            return Standing(unit.id, state, path)
    return Standing(unit.id, "fresh")


def _left_over(
    songs: Iterable[PlannedSong], standings: dict[str, Standing], manifest: Manifest
) -> Iterator[tuple[str, tuple[str, ...]]]:
    # What a song made stays until it can be read again.
    unread = tuple(f"{one.song.name}/" for one in songs if one.fault)
    for name, record in manifest.records.items():
        if name not in standings and name != REPORT and not name.startswith(unread):
            yield name, tuple(record.outputs)


def _check_names(opened: Opened, songs: Iterable[PlannedSong], outputs: Outputs) -> dict[str, str]:
    """Return which unit has which name; no two have one, whatever the case of letters.

    Raises:
        UsageError: Two have, or one has the name of the index page.
    """
    taken = dict(_TAKEN)
    for song in songs:
        for unit in song.units:
            bare = outputs.paths(song.song.name, song.song.number, unit.name).stem().casefold()
            device = DEVICES.intersection(bare.split("/"))
            if device:
                raise UsageError(
                    f"{unit.id} would be written to {bare}, and Windows keeps {min(device)} for a "
                    "device",
                    place=opened.name,
                    way_out="change names under [build], or the name of the song or variant",
                )
            found = taken.setdefault(bare, unit.id)
            if found != unit.id:
                raise UsageError(
                    f"{found} and {unit.id} would be written to one file, {bare}",
                    place=opened.name,
                    way_out="change names under [build], or the name of a song or variant",
                )
    return taken


def _check_sources(opened: Opened, songs: Iterable[PlannedSong], taken: Mapping[str, str]) -> None:
    """Check that no source has the name of an output: a forced build would write over it.

    A member of a family has a hyphen and its own name behind that of its unit.

    Raises:
        UsageError: One has.
    """
    out = os.path.realpath(opened.out)
    for song in songs:
        if song.fault:
            continue
        written, real = song.song.path.absolute(), os.path.realpath(song.song.path)
        for path in (os.path.normpath(written), real):
            if not path.startswith(out + os.sep):
                continue
            stem = Path(path[len(out) + 1 :]).with_suffix("").as_posix().casefold()
            names = [stem, *(stem[:place] for place, sign in enumerate(stem) if sign == "-")]
            unit = next((taken[name] for name in names if name in taken), "")
            if unit:
                raise UsageError(
                    f"the source {song.song.shown} has the name of an output of {unit}",
                    place=opened.name,
                    way_out="move it, or name another output folder",
                )


def report_key(opened: Opened, situation: Situation, manifest: Manifest) -> str:
    """Return the key of the report: all that stands in it hangs on this.

    Args:
        opened: The set.
        situation: Its plan.
        manifest: The records, which must be those after the units were made.
    """
    songs = [
        [one.song.name, one.song.shown, one.fault, *(_told(unit, manifest) for unit in one.units)]
        for one in situation.songs
    ]
    front = {k: v for k, v in opened.songs.as_json().items() if k not in ("entries", "folder")}
    return key_of(["report", 1, toolkit(), front, songs])


def _told(unit: Unit, manifest: Manifest) -> list[str]:
    record = manifest.records.get(unit.id)
    if record is None:
        return [unit.id, unit.title]
    paths = sorted(record.outputs) if record.key == unit.key else []
    refusal = record.refusal if record.refused_key == unit.key else ""
    return [unit.id, unit.title, unit.key, refusal, *paths]


def is_reported(opened: Opened, situation: Situation, outputs: Outputs) -> bool:
    """Whether report and index page are there and tell of this plan."""
    record = outputs.manifest.records.get(REPORT)
    if record is None or record.key != report_key(opened, situation, outputs.manifest):
        return False
    return outputs.is_whole(record)


def check(opened: Opened) -> list[Standing]:
    """Return what a build would change or complain of, in order; nothing is written.

    Raises:
        UsageError: The plan cannot be made.
        InputError: The manifest cannot be read.
    """
    outputs = Outputs(Manifest.load(opened.out), opened.songs.names)
    situation = survey(opened, outputs)
    found = [
        Standing(one.song.name, "unreadable", one.song.shown, one.fault)
        for one in situation.songs
        if one.fault
    ]
    found += [one for one in situation.standings.values() if one.state not in ("fresh", "skipped")]
    for name, paths in situation.left_over.items():
        there = [path for path in paths if (Path(opened.out) / path).exists()]
        found += [Standing(name, "left over", path) for path in there]
    if is_reported(opened, situation, outputs):
        return found
    record = outputs.manifest.records.get(REPORT)
    states = {path: outputs.state(path, h) for path, h in record.outputs.items()} if record else {}
    wrong = [Standing(REPORT, state, path) for path, state in states.items() if state]
    # Where units are stale, so is the report; that goes without saying.
    if wrong or not found:
        found += wrong or [Standing(REPORT, "stale" if record else "new", REPORT_FILE)]
    return found
