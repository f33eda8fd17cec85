"""Builds large song sets of public-domain tunes: rate, memory, two cores beside one, killed builds.

    python -m benchmarks.songset                  1,000 songs; sizes 250, 500, 1,000 and 2,000
    python -m benchmarks.songset --songs 100      the same at a tenth of the size
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
from collections.abc import Sequence
from pathlib import Path

from benchmarks.songset_faults import killed_builds
from benchmarks.songset_runs import Run, built, make_set
from benchmarks.songset_tunes import tunes

REPORT = Path(__file__).with_name("songset.md")
SIZES = (0.25, 0.5, 1.0, 2.0)
MOST_SECONDS = 300
LEAST_SPEED_UP = 1.8
MOST_DRIFT = 0.10
_SCRIPT_SONGS = 40


def main(words: Sequence[str] | None = None) -> int:
    """Run the benchmark; exit code 1 where a target is missed."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.songset")
    parser.add_argument("--songs", type=int, default=1000, help="songs of the main build")
    parser.add_argument("--kills", type=int, default=0, help="builds to kill, instead")
    parser.add_argument("--write", action="store_true", help="write the tables")
    options = parser.parse_args(words)
    folder = Path(tempfile.mkdtemp(prefix="neckwise-songset-"))
    try:
        if options.kills:
            text, missed = killed_builds(options.kills, folder)
        else:
            text, missed = _sweep(options.songs, folder)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    print(text)
    if options.write:
        _keep(text, is_kills=bool(options.kills))
    return 1 if missed else 0


def _keep(text: str, *, is_kills: bool) -> None:
    """Write one of the two parts of the page; the other stays as it was."""
    mark = "## Killed builds\n"
    old = REPORT.read_text(encoding="utf-8") if REPORT.exists() else ""
    sweep, _, kills = old.partition(mark)
    sweep, kills = (sweep, text) if is_kills else (text, kills.strip())
    REPORT.write_text(f"{sweep.rstrip()}\n\n{mark}\n{kills}\n".lstrip(), encoding="utf-8")


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
    songs: int, runs: list[Run], again: float, script: tuple[float, float, int]
) -> tuple[str, list[str]]:
    *sweep, alone = runs
    main = next(run for run in sweep if run.songs == songs)
    per_song = [run.seconds / run.songs for run in sweep]
    drift = max(per_song) / min(per_song) - 1
    small = next(run for run in sweep if run.songs == alone.songs)
    speed_up = alone.seconds / small.seconds
    theirs, ours, count = script
    head = (
        "Made by `python -m benchmarks.songset --write`: tunes of O'Neill, Ryan and Aird as\n"
        "MusicXML, eight variants each, every variant proven, fingered and written as MusicXML.\n"
    )
    heads = (
        *("songs", "processes", "variants made", "refused", "seconds", "ms a song"),
        *("variants a second", "MB, building process", "MB, largest worker"),
    )
    said = (
        f"- {songs} songs again with nothing to do: {again:.2f} s.\n"
        f"- Two processes beside one, {alone.songs} songs: {speed_up:.2f} times as fast "
        f"(aim {LEAST_SPEED_UP}).\n"
        f"- Time a song from {sweep[0].songs} to {sweep[-1].songs} songs: within {drift:.0%} "
        f"(aim {MOST_DRIFT:.0%}).\n"
        f"- A plain music21 script that only transposes takes {theirs * 1000:.0f} ms of processor\n"
        "  time a song; one variant of ours, transposed, proven, fingered and with tab, "
        f"{ours * 1000:.0f} ms:\n  {theirs / ours:.1f} times as fast ({count} songs, one process, "
        "the same run).\n"
    )
    table = [f"| {' | '.join(heads)} |", f"|{'--:|' * len(heads)}", *(run.row() for run in runs)]
    missed = []
    if songs >= 1000 and main.seconds > MOST_SECONDS:
        missed.append(f"{main.seconds:.0f} s for {songs} songs, aim {MOST_SECONDS}")
    if speed_up < LEAST_SPEED_UP:
        missed.append(f"speed-up {speed_up:.2f}, aim {LEAST_SPEED_UP}")
    if drift > MOST_DRIFT:
        missed.append(f"time a song within {drift:.0%}, aim {MOST_DRIFT:.0%}")
    end = f"Missed: {'; '.join(missed)}." if missed else "No target missed."
    return "\n".join(["# Song sets", "", head, *table, "", said, end, ""]), missed


if __name__ == "__main__":
    sys.exit(main())
