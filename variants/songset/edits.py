"""Edits in an output of a set, taken over as pins beside its source."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from variants.errors import UsageError
from variants.files import read_if_there, write_file
from variants.limits import LIMITS
from variants.musicxml import read_raw
from variants.pins import Pin, pins_toml, read_pins, taken_over
from variants.pins.edits import says_what_is_ours
from variants.pins.files import merged
from variants.songset.digest import sha256, toolkit
from variants.songset.lock import locked
from variants.songset.manifest import Manifest, Record
from variants.songset.outputs import Outputs
from variants.songset.plan import PlannedSong, Unit, pins_beside, plan, read_source
from variants.songset.result import unpack
from variants.songset.task import Task, run_task

if TYPE_CHECKING:
    from variants.score import Score
    from variants.songset.opening import Opened

_NO_RECORD = "says nothing of what neckwise gave its notes, so that no edit can be told"
_SCORES = ("musicxml", "mxl")


@dataclass(frozen=True, slots=True)
class TakenOver:
    """Edits that are pins now.

    Args:
        pins: The pins that were taken over.
        path: The file that they are in.
        left_alone: Why a build leaves the edited file alone; empty if it writes it anew, everything
            in it being kept.
    """

    pins: tuple[Pin, ...]
    path: Path
    left_alone: str


def pin_file(edited: Path, target: Path | None = None) -> TakenOver:
    """Take the edits in a written variant over into a file of pins.

    Args:
        edited: The variant; its notes tell what they were given.
        target: The file of pins; that beside the variant if not said.

    Raises:
        UsageError: The variant does not say what was ours.
        InputError: A file cannot be read.
    """
    score = _score(edited)
    if not says_what_is_ours(score.parts):
        raise UsageError(
            _NO_RECORD, place=str(edited), way_out="name the song set that made it with --set"
        )
    path = target or pins_beside(edited)
    pins = taken_over(score, None)
    _keep(path, pins)
    return TakenOver(pins, path, "it is of no song set")


def pin_output(opened: Opened, edited: Path) -> TakenOver:
    """Take the edits in an output of a set over into the file of pins beside its source.

    What neckwise made of it is made again, where source and recipe are as they were; else the
    edited file itself tells. The edited file is then no longer one that a build leaves alone, if
    all that was changed in it is pinned.

    Raises:
        UsageError: It is no output of the set, or it cannot be told what was changed.
        Refusal: Its notes were changed.
        InputError: A file cannot be read.
    """
    with locked(opened.state, waits=False):
        manifest = Manifest.load(opened.out)
        song, unit, record, shown = _unit_of(opened, manifest, edited)
        data = read_if_there(edited) or b""
        score = _score(edited)
        made, version = _made(opened, song, unit, (record, shown))
        if made is None and not says_what_is_ours(score.parts):
            raise UsageError(
                f"{_NO_RECORD}, and its source or recipe has changed since",
                place=str(edited),
                way_out="restore the source as it was, pin, and change it again",
            )
        pins = taken_over(score, made, version=version)
        path = pins_beside(song.song.path)
        _keep(path, pins)
        left_alone = ""
        if made is None:
            left_alone = "its source or recipe has changed since it was written"
        elif not _is_all_pinned(score, made):
            left_alone = "more than strings, frets and fingers was changed in it"
        if not left_alone:
            outputs = {**record.outputs, shown: sha256(data)}
            manifest.note(unit.id, replace(record, outputs=outputs))
            manifest.save(name for name in manifest.records)
        return TakenOver(pins, path, left_alone)


def _score(path: Path) -> Score:
    from variants.musicxml.source import load

    return read_raw(load(path, LIMITS))


def _keep(path: Path, pins: tuple[Pin, ...]) -> None:
    if pins:
        known = read_pins(path) if path.is_file() else ()
        write_file(path, pins_toml(merged(known, pins)).encode())


def _unit_of(
    opened: Opened, manifest: Manifest, edited: Path
) -> tuple[PlannedSong, Unit, Record, str]:
    """Return what a file is an output of, and its path in the output folder."""
    real, out = edited.resolve(), opened.out.resolve()
    shown = real.relative_to(out).as_posix() if real.is_relative_to(out) else ""
    for song in plan(opened):
        for unit in song.units:
            record = manifest.records.get(unit.id)
            if record is not None and shown in record.outputs:
                return song, unit, record, shown
    raise UsageError(
        "is no output of this song set",
        place=str(edited),
        way_out="name a score in its output folder, or leave --set out",
    )


def _made(
    opened: Opened, song: PlannedSong, unit: Unit, known: tuple[Record, str]
) -> tuple[Score | None, str]:
    """Return the score as it was made, if it can be made again, and the name of its version."""
    record, shown = known
    names = Outputs(Manifest(opened.out), opened.songs.names).paths(
        song.song.name, song.song.number, unit.name
    )
    if record.key != unit.key:
        return None, unit.name
    source = read_source(opened, song.song)
    task = Task(source=source, specs=(unit.spec,), toolkit=toolkit(), limits=opened.limits)
    for piece in unpack(run_task(task).results[0]).pieces:
        for kind in _SCORES:
            if kind in piece.files and names.path(kind, piece.member) == shown:
                version = f"{unit.name}-{piece.member}" if piece.member else unit.name
                return read_raw(piece.files[kind]), version
    raise UsageError(
        "is no score", place=shown, way_out="name the .musicxml or .mxl file of the variant"
    )


def _is_all_pinned(edited: Score, made: Score) -> bool:
    """Whether two scores differ in strings, frets and fingers alone."""
    return _bare(edited) == _bare(made)


def _bare(score: Score) -> tuple[object, ...]:
    from variants.marks import MARKS, remove_marks
    from variants.score import map_notes

    plain = remove_marks(score, list(MARKS))
    return tuple(
        map_notes(
            part,
            lambda note: replace(
                note,
                place=None,
                finger="",
                extras=tuple(extra for extra in note.extras if extra.name != "level"),
            ),
        ).measures
        for part in plain.parts
    )
