"""Small song sets for tests, and what there is to say of an output folder."""

from __future__ import annotations

import hashlib
from collections.abc import Generator, Iterable
from pathlib import Path

from variants.songset.build import Hands, Options, Summary, build
from variants.songset.executors import Executor, InProcess, PlacedTask
from variants.songset.opening import Opened, open_set
from variants.songset.task import Done

RECIPES = """
[variants.plain]
staves = "notation"
marks = ["none"]

[variants.tab]
staves = "tab"

[variants.higher]
steps = ["transpose:interval=M2"]
"""
SET = """
[front]
title = "Two tunes"

[build]
outputs = ["musicxml"]
pictures = false

[[songs]]
source = "songs/*.musicxml"
"""


def song(*tunes: str, title: str = "A tune", rights: str = "") -> str:
    """Return a score of one measure in 4/4 for each tune of four quarters, written for guitar.

    Args:
        tunes: Four names of notes, as in ``E4 F4 G4 A4``.
        title: Title.
        rights: Rights line; none if empty.
    """
    head = (
        "<attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4</beats>"
        "<beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line><clef-octave-change>-1"
        "</clef-octave-change></clef></attributes>"
    )
    measures = "".join(
        f'<measure number="{number}">{head if number == 1 else ""}{_notes(tune)}</measure>'
        for number, tune in enumerate(tunes, 1)
    )
    line = f"<rights>{rights}</rights>" if rights else ""
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><work><work-title>'
        f"{title}</work-title></work><identification>{line}</identification><part-list>"
        '<score-part id="P1"><part-name>Guitar</part-name></score-part></part-list><part id="P1">'
        f"{measures}</part></score-partwise>"
    )


def _notes(tune: str) -> str:
    return "".join(
        f"<note><pitch><step>{name[0]}</step><octave>{int(name[1:]) - 1}</octave></pitch>"
        "<duration>1</duration><voice>1</voice><type>quarter</type></note>"
        for name in tune.split()
    )


def make_set(folder: Path, *, text: str = SET + RECIPES, songs: int = 2) -> Path:
    """Write a set of small songs into a folder and return its set file."""
    (folder / "songs").mkdir(parents=True, exist_ok=True)
    for number in range(songs):
        tunes = ("E4 F4 G4 A4", "G4 E4 F4 D4") if number % 2 else ("G4 A4 G4 E4", "D4 E4 F4 G4")
        path = folder / "songs" / f"tune-{number + 1}.musicxml"
        path.write_text(song(*tunes, title=f"Tune {number + 1}"), encoding="utf-8")
    path = folder / "set.toml"
    path.write_text(text, encoding="utf-8")
    return path


class Quiet:
    """A watcher that only counts."""

    def __init__(self) -> None:
        self.total = 0
        self.done = 0

    def begin(self, units: int) -> None:
        """Take note of how many units are to be made."""
        self.total = units

    def step(self, units: int, song: str) -> None:  # noqa: ARG002 - as the build calls it
        """Take note that so many units are done."""
        self.done += units


class Counting(InProcess):
    """Runs jobs in this process and remembers which units they were of."""

    def __init__(self) -> None:
        self.units = 0
        self.songs = 0

    def run(self, jobs: Iterable[PlacedTask]) -> Generator[tuple[PlacedTask, Done]]:
        """Yield each job with what came of it."""
        for job, done in super().run(jobs):
            self.songs += 1
            self.units += len(done.results)
            yield job, done


def opened(path: Path, *, out: Path | None = None) -> Opened:
    """Open a set file."""
    return open_set(str(path), out=str(out or ""))


def run(
    path: Path,
    *,
    out: Path | None = None,
    options: Options | None = None,
    executor: Executor | None = None,
) -> Summary:
    """Build a set in this process."""
    hands: Hands = lambda songs: executor or InProcess()  # noqa: ARG005, E731
    return build(opened(path, out=out), options or Options(), hands, Quiet())


def tree(folder: Path) -> dict[str, str]:
    """Return the hash of each output in a folder, what the tool keeps for itself aside."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.relative_to(folder).parts[0] != ".neckwise"
    }
