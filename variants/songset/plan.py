"""The plan: which units of work there are, and what each of them hangs on.

A unit is one variant (or family of variants) of one song, or the handout of one song. Its key is
the hash of all that its bytes come from, so two units of one key have the same result, wherever
and whenever they are made. Standard library only.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from variants.errors import NeckwiseError, UsageError
from variants.files import DEVICES, read_bytes
from variants.limits import LIMITS
from variants.songset.digest import canonical, key_of, sha256, versions
from variants.songset.opening import Opened
from variants.songset.resolved import DRAWN, WHOLE_NAMES, WHOLE_TITLES, SongEntry, SongSet, Wanted

# Moves on when the shape of a result changes.
RESULT_FORMAT = 1
_PINS = ".pins.toml"
_SOURCE_ENDINGS = (".musicxml", ".xml", ".mxl")
_PATTERN = re.compile(r"[*?\[]")


@dataclass(frozen=True, slots=True, kw_only=True)
class Song:
    """One song of the set.

    Args:
        number: Its place in the set, from 1.
        name: Its name in names of files.
        path: Its source.
        shown: The source as the set file names it.
        entry: The table that names it.
    """

    number: int
    name: str
    path: Path
    shown: str
    entry: SongEntry


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit:
    """One unit of work.

    Args:
        id: ``song/variant``; stands for it in reports.
        key: The hash of all that its result comes from.
        name: Name of the variant, or of the handout.
        title: What people call it.
        spec: How it is made, source aside: the JSON text that `variants.songset.task` reads.
    """

    id: str
    key: str
    name: str
    title: str
    spec: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSong:
    """A song with its units.

    Args:
        song: The song.
        sha256: Hash of its source; empty if it cannot be read.
        units: Its units, in order; none if it cannot be read.
        fault: Why it cannot be read, in one line.
    """

    song: Song
    sha256: str
    units: tuple[Unit, ...]
    fault: str = ""


def plan(opened: Opened) -> Iterator[PlannedSong]:
    """Yield the songs of a set with their units, in order; sources are read one at a time.

    Raises:
        UsageError: A table names no file, or two songs have one name.
    """
    specs = {id(one): tuple(_specs(opened.songs, one)) for one in opened.songs.entries}
    _check_pins(opened)
    # What a limit stopped must be tried again under another.
    limits = [] if opened.limits == LIMITS else [asdict(opened.limits)]
    for song in songs(opened):
        try:
            data = read_source(opened, song)
            pins = song_pins(opened, song)
        except NeckwiseError as error:
            yield PlannedSong(song=song, sha256="", units=(), fault=str(error))
            continue
        found = sha256(data)
        made = tuple(_specs(opened.songs, song.entry, pins)) if pins else specs[id(song.entry)]
        units = tuple(
            Unit(
                id=f"{song.name}/{spec.name}",
                key=key_of([RESULT_FORMAT, found, spec.digest, *limits]),
                name=spec.name,
                title=spec.title,
                spec=spec.text,
            )
            for spec in made
        )
        yield PlannedSong(song=song, sha256=found, units=units)


def read_source(opened: Opened, song: Song) -> bytes:
    """Return what stands in the file of a song.

    Raises:
        InputError: It cannot be read, or is larger than the limit.
    """
    return read_bytes(
        song.path,
        most_bytes=opened.limits.file_bytes,
        way_out="split the score, or raise the limit (file_bytes)",
    )


def songs(opened: Opened) -> list[Song]:
    """Return the songs of a set in order, patterns resolved.

    Raises:
        UsageError: A table names no file, or two songs have one name.
    """
    entries = opened.songs.entries
    alone = {_plain(opened.folder / one.source) for one in entries if not _is_pattern(one)}
    found: list[Song] = []
    taken: dict[str, str] = {}
    for entry in entries:
        for path, shown in _files(opened, entry):
            if _is_pattern(entry) and _plain(path) in alone:
                continue
            name = entry.name or slug(path.stem)
            if name in taken:
                raise UsageError(
                    f"{taken[name]} and {shown} are both called {name}",
                    place=f"{opened.name}, line {entry.line}",
                    way_out="give one of them a [[songs]] of its own with another name",
                )
            taken[name] = shown
            found.append(
                Song(number=len(found) + 1, name=name, path=path, shown=shown, entry=entry)
            )
    return found


def _check_pins(opened: Opened) -> None:
    """Check that the pins of the set file are of songs that there are.

    Raises:
        UsageError: One is of none.
    """
    named = {str(pin["piece"]) for pin in opened.songs.pins}
    unknown = sorted(named - {song.name for song in songs(opened)}) if named else []
    if unknown:
        raise UsageError(
            f"a pin is of {unknown[0]!r}, and there is no such song",
            place=opened.name,
            way_out="name the song as its outputs are named",
        )


def pins_beside(source: Path) -> Path:
    """Return the file of pins that belongs to a source."""
    return source.with_suffix(_PINS)


def song_pins(opened: Opened, song: Song) -> tuple[Mapping[str, Any], ...]:
    """Return the pins of a song as JSON values: those beside its source, then those of the set.

    Raises:
        NeckwiseError: The file beside the source has a fault.
    """
    found = [pin for pin in opened.songs.pins if pin["piece"] == song.name]
    path = pins_beside(song.path)
    if path.is_file():
        from variants.pins import read_pins

        beside = read_pins(path)
        found = [
            pin.model_dump(mode="json", by_alias=True, exclude_defaults=True) for pin in beside
        ] + found
    return tuple(found)


def _plain(path: Path) -> str:
    return os.path.normpath(path)


def _is_pattern(entry: SongEntry) -> bool:
    return _PATTERN.search(entry.source) is not None


def _files(opened: Opened, entry: SongEntry) -> Iterable[tuple[Path, str]]:
    if not _is_pattern(entry):
        return [(opened.folder / entry.source, entry.source)]
    place = f"{opened.name}, line {entry.line}"
    pattern = Path(entry.source)
    if pattern.is_absolute():
        raise UsageError(
            "a pattern begins at the folder of the set file",
            place=place,
            way_out="write it without the leading /",
        )
    out = _plain(opened.out)
    found = [
        path
        for path in opened.folder.glob(entry.source)
        if path.suffix.lower() in _SOURCE_ENDINGS
        and path.is_file()
        # What is made is never a source, wherever the output folder lies.
        and not _plain(path).startswith(out + os.sep)
    ]
    if not found:
        raise UsageError(
            f"no score fits {entry.source!r}",
            place=place,
            way_out="check the folder and the ending",
        )
    names = [path.relative_to(opened.folder).as_posix() for path in found]
    return sorted(zip(found, names, strict=True), key=lambda pair: (pair[1].casefold(), pair[1]))


def slug(text: str) -> str:
    """Return a text as a name for files.

    >>> slug("O'Neill's March (No. 2)")
    'o-neill-s-march-no-2'
    >>> slug("Con")
    'con-song'
    """
    found = re.sub(r"[\W_]+", "-", text.casefold()).strip("-") or "song"
    return f"{found}-song" if found in DEVICES else found


@dataclass(frozen=True, slots=True)
class _Spec:
    """How one variant of a table's songs is made: the same for all of them."""

    name: str
    title: str
    text: str
    digest: str


def _specs(
    songset: SongSet, entry: SongEntry, pins: tuple[Mapping[str, Any], ...] = ()
) -> Iterator[_Spec]:
    kinds = sorted(kind for kind in entry.outputs if kind not in WHOLE_NAMES)
    base: dict[str, Any] = {
        "part": entry.part,
        "reading": entry.reading,
        "front": _front(songset, entry),
        "hand": songset.hand,
        "look": {},
        "picture": False,
    }
    for index, wanted in enumerate(entry.variants if kinds else ()):
        has_picture = songset.index and songset.pictures and index == 0
        is_drawn = has_picture or bool(DRAWN.intersection(kinds))
        spec = {
            **base,
            "kinds": kinds,
            "picture": has_picture,
            "look": songset.look if is_drawn else {},
            "variants": [
                {"title": wanted.title if is_drawn else "", **wanted.spec, **_pinned(wanted, pins)}
            ],
        }
        yield _spec(wanted.name, wanted.title, spec)
    for kind in (one for one in WHOLE_NAMES if one in entry.outputs):
        made = [{"title": one.title, **one.spec, **_pinned(one, pins)} for one in entry.variants]
        # Where no file of its own tells of a variant that cannot be made, this one must.
        spec = {**base, "kinds": [kind], "look": songset.look, "variants": made}
        spec["all"] = not kinds
        yield _spec(WHOLE_NAMES[kind], WHOLE_TITLES[kind], spec)


def _pinned(wanted: Wanted, pins: tuple[Mapping[str, Any], ...]) -> dict[str, Any]:
    """Return what a spec says of pins: those of its variant, or of a member of its family."""
    of_it = [
        pin
        for pin in pins
        if (version := pin.get("version", "all")) in ("all", wanted.name)
        or version.startswith(f"{wanted.name}-")
    ]
    return {"version": wanted.name, "pins": of_it} if of_it else {}


def _spec(name: str, title: str, spec: Mapping[str, Any]) -> _Spec:
    libraries = versions(sheets=bool(spec["look"]))
    text = canonical(spec)
    return _Spec(name, title, text, key_of([libraries, text]))


def _front(songset: SongSet, entry: SongEntry) -> Mapping[str, str]:
    """Return what of the set and the song goes into the score itself."""
    front = dict(entry.front)
    if songset.front.get("rights"):
        front["rights-if-none"] = songset.front["rights"]
    return front
