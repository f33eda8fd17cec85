"""The sample set with all its outputs: from nothing, again, after one change, and on a cluster."""

from __future__ import annotations

import json
import shutil
import time
from pathlib import Path
from typing import Any

from benchmarks.songset_runs import ROOT, started, tree

_SONG = Path("set") / "songs" / "ode-to-joy.musicxml"
_MOST_IDLE_S = 1.0


def sample_set(folder: Path) -> tuple[str, list[str]]:
    """Build the sample set in several ways and hold the outputs against each other.

    Args:
        folder: A folder to work in.
    """
    from distributed import LocalCluster

    one, two, three = (_copy(folder / name) for name in ("one", "two", "three"))
    first = _timed(one, "--jobs", "1")
    idle = _timed(one)
    second = _timed(two, "--jobs", "2")
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        third = _timed(three, "--scheduler", cluster.scheduler_address)
    wanted = tree(one.parent / "out")
    missed = [
        f"{name} differs from one process"
        for name, path in (("two processes", two), ("Dask", three))
        if tree(path.parent / "out") != wanted
    ]
    _change_one_measure(one.parents[1] / _SONG)
    after = _timed(one, "--jobs", "1")
    changed = {name for name, data in tree(one.parent / "out").items() if data != wanted.get(name)}
    others = {name for name in changed if "/" in name and "ode-to-joy" not in name}
    missed += [f"{name} changed with another song" for name in sorted(others)]
    if idle["seconds"] > _MOST_IDLE_S:
        missed.append(f"{idle['seconds']:.2f} s with nothing to do, aim {_MOST_IDLE_S}")
    bad = [run for run in (first, second, third, after) if run["refused"] or run["failed"]]
    missed += ["some results could not be made"] * bool(bad)
    pdfs = sum(name.endswith(".pdf") for name in wanted)
    text = (
        f"{first['units']} results, {len(wanted)} files of them, {pdfs} PDFs and an index page: "
        f"from nothing {first['seconds']:.1f} s in one process, {second['seconds']:.1f} s in two, "
        f"{third['seconds']:.1f} s on a local Dask cluster of two; the same bytes each time. "
        f"Again with nothing to do: {idle['seconds']:.2f} s. After one note of one song was "
        f"changed: {after['made']} results made, all of that song, {after['seconds']:.1f} s."
    )
    return text, missed


def _copy(folder: Path) -> Path:
    """Return the set file of a copy of the samples without what was made of them."""
    shutil.copytree(ROOT / "samples", folder, ignore=shutil.ignore_patterns("out", "*.py"))
    return folder / "set" / "set.toml"


def _timed(path: Path, *words: str) -> dict[str, Any]:
    start = time.monotonic()
    process = started(path, *words)
    out, err = process.communicate()
    if process.returncode not in (0, 1):
        raise SystemExit(err.decode())
    values: dict[str, Any] = json.loads(out)
    return {**values, "seconds": time.monotonic() - start}


def _change_one_measure(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("<step>D</step>", "<step>E</step>", 1), encoding="utf-8")
