"""Builds large song sets of public-domain tunes: rate, memory, two cores beside one, killed builds.

    python -m benchmarks.songset                  1,000 songs; sizes 250, 500, 1,000 and 2,000
    python -m benchmarks.songset --songs 100      the same at a tenth of the size
    python -m benchmarks.songset --sample         the sample set with all its outputs, no sweep
    python -m benchmarks.songset --kills 50       fifty builds killed at random moments, no sweep
    python -m benchmarks.songset --write          keep the tables in benchmarks/songset.md

Each build is a process of its own, `neckwise build`, scores alone. The tunes are converted by
music21 once and kept in the folder for temporary files; that is not measured. Each size is an
even choice among all tunes, so that sizes differ in number and not in kind.
"""

from __future__ import annotations

import argparse
import shutil
import sys
import tempfile
import textwrap
from collections.abc import Sequence
from pathlib import Path

from benchmarks.songset_faults import killed_builds
from benchmarks.songset_runs import Run, built, make_set
from benchmarks.songset_sample import sample_set
from benchmarks.songset_tunes import tunes

REPORT = Path(__file__).with_name("songset.md")
PARTS = ("Scale", "The sample set", "Killed builds")
_HEAD = "Made by `python -m benchmarks.songset --write`, with `--sample`, and with `--kills 50`."
SIZES = (0.25, 0.5, 1.0, 2.0)
MOST_SECONDS = 300
LEAST_SPEED_UP = 1.8
MOST_DRIFT = 0.10
_SCRIPT_SONGS = 40


def main(words: Sequence[str] | None = None) -> int:
    """Run the benchmark; exit code 1 where a target is missed."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.songset")
    parser.add_argument("--songs", type=int, default=1000, help="songs of the main build")
    parser.add_argument("--sample", action="store_true", help="the sample set, instead")
    parser.add_argument("--kills", type=int, default=0, help="builds to kill, instead")
    parser.add_argument("--write", action="store_true", help="write the tables")
    options = parser.parse_args(words)
    folder = Path(tempfile.mkdtemp(prefix="neckwise-songset-"))
    try:
        if options.kills:
            part, (text, missed) = "Killed builds", killed_builds(options.kills, folder)
        elif options.sample:
            part, (text, missed) = "The sample set", sample_set(folder)
        else:
            part, (text, missed) = "Scale", _sweep(options.songs, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    text = f"{text}\n\n{'Missed: ' + '; '.join(missed) if missed else 'No target missed'}."
    print(text)
    if options.write:
        _keep(part, "\n".join(wrapped(text)))
    return 1 if missed else 0


def wrapped(text: str) -> list[str]:
    """Return a text in lines of at most 100 columns; tables stay as they are."""
    lines: list[str] = []
    for line in text.splitlines():
        is_item = line.startswith("- ")
        lines += (
            [line]
            if line.startswith("|") or not line
            else textwrap.wrap(line, 100, subsequent_indent="  " * is_item)
        )
    return lines


def _keep(part: str, text: str) -> None:
    """Write one part of the page; the others stay as they were."""
    old = REPORT.read_text(encoding="utf-8") if REPORT.exists() else ""
    parts = {}
    for block in old.split("\n## ")[1:]:
        name, _, body = block.partition("\n")
        parts[name] = body.strip()
    parts[part] = text
    body = "\n\n".join(f"## {name}\n\n{parts[name]}" for name in PARTS if name in parts)
    REPORT.write_text(f"# Song sets\n\n{_HEAD}\n\n{body}\n", encoding="utf-8")


def _sweep(songs: int, folder: Path) -> tuple[str, list[str]]:
    from benchmarks.songset_script import compared

    everything = tunes(round(songs * SIZES[-1]))
    runs, again = [], 0.0
    for share in SIZES:
        count = round(songs * share)
        path = make_set(folder / f"{count}-songs", _evenly(everything, count))
        runs.append(built(path, count, jobs=2))
        _say(runs[-1])
        if share == 1.0:
            again = built(path, count, jobs=2).seconds
        shutil.rmtree(path.parent)
    count = round(songs * SIZES[0])
    alone = built(make_set(folder / "alone", _evenly(everything, count)), count, jobs=1)
    _say(alone)
    script = compared(_evenly(everything, min(count, _SCRIPT_SONGS)))
    return _told(songs, [*runs, alone], again, script)


def _evenly(paths: Sequence[Path], count: int) -> list[Path]:
    return [paths[index * len(paths) // count] for index in range(count)]


def _say(run: Run) -> None:
    sys.stderr.write(f"{run}\n")


def _told(
    songs: int, runs: list[Run], again: float, beside: tuple[float, float, int]
) -> tuple[str, list[str]]:
    *sweep, alone = runs
    main = next(run for run in sweep if run.songs == songs)
    per_song = [run.seconds / run.songs for run in sweep]
    drift = max(per_song) / min(per_song) - 1
    small = next(run for run in sweep if run.songs == alone.songs)
    speed_up = alone.seconds / small.seconds
    theirs, ours, count = beside
    head = (
        "Tunes of O'Neill, Ryan and Aird as MusicXML, eight variants each, every variant proven, "
        "fingered and written as MusicXML. Each build is a process of its own."
    )
    heads = (
        *("songs", "processes", "variants made", "refused", "seconds", "ms a song"),
        *("variants a second", "MB, building process", "MB, largest worker"),
    )
    faster = theirs / ours
    script = (
        f"- A plain music21 script that only transposes takes {theirs * 1000:.0f} ms of processor "
        "time a song; one variant of ours, transposed, proven, fingered and with tab, "
        f"{ours * 1000:.0f} ms: {faster:.1f} times as fast ({count} songs, one process, the same "
        "run)."
    )
    size = f"{sweep[0].songs} to {sweep[-1].songs} songs"
    speed = f"- Two processes beside one, {alone.songs} songs: {speed_up:.2f} times as fast"
    said = (
        f"- {songs} songs again with nothing to do: {again:.2f} s.",
        f"{speed} (aim {LEAST_SPEED_UP}).",
        f"- Time a song from {size}: within {drift:.0%} (aim {MOST_DRIFT:.0%}).",
        script,
    )
    table = [f"| {' | '.join(heads)} |", f"|{'--:|' * len(heads)}", *(run.row() for run in runs)]
    missed = []
    if songs >= 1000 and main.seconds > MOST_SECONDS:
        missed.append(f"{main.seconds:.0f} s for {songs} songs, aim {MOST_SECONDS}")
    if speed_up < LEAST_SPEED_UP:
        missed.append(f"speed-up {speed_up:.2f}, aim {LEAST_SPEED_UP}")
    if drift > MOST_DRIFT:
        missed.append(f"time a song within {drift:.0%}, aim {MOST_DRIFT:.0%}")
    return "\n".join([head, "", *table, "", *said]), missed


if __name__ == "__main__":
    sys.exit(main())
