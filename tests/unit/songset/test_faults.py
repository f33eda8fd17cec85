"""Builds that are killed, and two builds at once: the next build ends as if nothing had been."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.unit.songset.sets import RECIPES, SET, make_set, run, song, tree
from variants.errors import UsageError
from variants.songset.build import Options
from variants.songset.lock import locked
from variants.songset.manifest import Manifest, Record
from variants.songset.opening import STATE

ROOT = Path(__file__).parents[3]
_CALL = "from cli.main import main; main()"
_MOMENTS = 6


def _started(path: Path, *words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, "-c", _CALL, "build", str(path), "--quiet", *words],
        cwd=ROOT,
        start_new_session=True,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )


def _kill(process: subprocess.Popen[bytes]) -> None:
    os.killpg(process.pid, signal.SIGKILL)
    process.communicate()


def _is_gone(group: int) -> bool:
    """Whether all processes of a group end within a few seconds."""
    for _ in range(100):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


@pytest.mark.slow
def test_killed_at_any_moment(tmp_path: Path) -> None:
    """Killed with all its processes at random moments, then run again: as if undisturbed."""
    whole = make_set(tmp_path / "whole", songs=8)
    run(whole)
    wanted = tree(whole.parent / "out")
    moments = random.Random(7)  # noqa: S311 - no secret
    path = make_set(tmp_path / "cut", songs=8)
    for number in range(_MOMENTS):
        # What one build leaves, the next one finds: a source that changes each time gives work.
        source = path.parent / "songs" / "tune-1.musicxml"
        source.write_text(song("E4 F4 G4 A4", title=f"Take {number}"), encoding="utf-8")
        process = _started(path, "--jobs", "1")
        time.sleep(moments.uniform(0.3, 1.3))
        _kill(process)
    make_set(tmp_path / "cut", songs=8)
    assert run(path).is_good
    assert tree(path.parent / "out") == wanted
    assert not list((path.parent / "out" / ".neckwise" / "tmp").glob("*"))


@pytest.mark.parametrize(("number", "jobs"), [(signal.SIGINT, "1"), (signal.SIGTERM, "2")])
def test_stopped_politely(tmp_path: Path, number: signal.Signals, jobs: str) -> None:
    """A signal ends a build in one line, no worker stays, and the next build goes on."""
    path = make_set(tmp_path, songs=60)
    process = _started(path, "--jobs", jobs)
    journal = tmp_path / "out" / ".neckwise" / "journal"
    for _ in range(200):
        if journal.exists() and journal.stat().st_size:
            break
        time.sleep(0.05)
    os.kill(process.pid, number)
    out, err = process.communicate(timeout=30)
    assert process.returncode == 128 + number
    assert (out, err.count(b"\n")) == (b"", 1)
    assert err.startswith(b"neckwise: stopped; what is made is kept")
    assert _is_gone(process.pid)
    assert journal.exists()
    # Tunes 1 and 10 are the first two of the plan: one of them was done when the signal came.
    for name in (*range(2, 10), *range(11, 61)):
        (tmp_path / "songs" / f"tune-{name}.musicxml").unlink()
    summary = run(path)
    assert summary.went_on
    assert summary.is_good
    assert summary.made < 2 * 3


def test_two_builds_at_once(tmp_path: Path) -> None:
    """While one build has the folder, another refuses in one line; with --wait it waits."""
    path = make_set(tmp_path, songs=1)
    with locked(tmp_path / "out" / ".neckwise", waits=False):
        with pytest.raises(UsageError, match="another build is at work in this folder"):
            run(path)
        waiting = _started(path, "--wait")
        time.sleep(1)
        assert waiting.poll() is None
        assert "tune-1/tab.musicxml" not in tree(tmp_path / "out")
    out, err = waiting.communicate(timeout=60)
    assert (waiting.returncode, out, err) == (0, b"", b"")
    assert "tune-1/tab.musicxml" in tree(tmp_path / "out")


def test_disk_limit(tmp_path: Path) -> None:
    """The system refuses a file that is too large: one line, exit 2, what was there is whole."""
    path = make_set(tmp_path, songs=1)
    run(path)
    before = tree(tmp_path / "out")
    long = song(*["E4 F4 G4 A4"] * 50)
    (tmp_path / "songs" / "tune-1.musicxml").write_text(long, encoding="utf-8")
    code = (
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        f"resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000)); {_CALL}"
    )
    done = subprocess.run(  # noqa: S603 - our own command
        [sys.executable, "-c", code, "build", str(path), "--quiet"],
        cwd=ROOT,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.count(b"\n") == 1
    assert b"make room and build again" in done.stderr
    assert tree(tmp_path / "out") == before
    assert run(path, options=Options()).is_good


def test_the_lock_goes_with_its_holder(tmp_path: Path) -> None:
    """A build that was killed leaves no lock behind."""
    path = make_set(tmp_path, text=SET + RECIPES, songs=1)
    code = (
        "import time; from pathlib import Path; from variants.songset.lock import locked\n"
        f"with locked(Path({str(tmp_path / 'out' / '.neckwise')!r}), waits=False):\n"
        "    print('held', flush=True); time.sleep(60)\n"
    )
    process = subprocess.Popen(  # noqa: S603 - our own code
        [sys.executable, "-c", code], cwd=ROOT, stdout=subprocess.PIPE, start_new_session=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == b"held\n"
    with pytest.raises(UsageError, match=f"process {process.pid}"):
        run(path)
    _kill(process)
    assert run(path).is_good


def test_cut_twice_in_a_row(tmp_path: Path) -> None:
    """What a build that went on wrote into the journal counts, though it was killed as well."""
    first, second = Manifest.load(tmp_path), Record(key="k", outputs={"a.xml": "one"})
    first.note("a", second)
    first.close()
    journal = tmp_path / STATE / "journal"
    journal.write_bytes(journal.read_bytes() + b'["b", {"key"')
    again = Manifest.load(tmp_path)
    again.note("c", Record(key="k", outputs={"c.xml": "two"}))
    again.close()
    last = Manifest.load(tmp_path)
    assert last.was_cut
    assert last.records.keys() == {"a", "c"}
    assert last.ours == {"a.xml": ("one",), "c.xml": ("two",)}
