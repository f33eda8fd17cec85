"""`describe` and `vary` with several files: an error in one does not stop the rest."""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest

from cli.source import load_score
from tests.cli.calling import DUET, RIFF, call, is_one_line

ABC = "X:1\nT:One\nM:4/4\nL:1/4\nK:C\nCDEF|\n\nX:2\nT:Two\nM:4/4\nL:1/4\nK:G\nGABd|\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Return a folder of two good files, a damaged one, and one in ABC."""
    (tmp_path / "a.musicxml").write_bytes(RIFF.read_bytes())
    (tmp_path / "b.xml").write_bytes(RIFF.read_bytes())
    (tmp_path / "c.musicxml").write_bytes(RIFF.read_bytes()[:2000])
    (tmp_path / "d.abc").write_text(ABC, encoding="utf-8")
    return tmp_path


def test_vary_goes_on(folder: Path) -> None:
    """The good files are written, the bad ones named with their reasons; the exit code is 1."""
    out = folder / "out"
    done = call("vary", folder / "*.*", "-s", "transpose:interval=M2", "-o", out)
    assert done.code == 1
    assert sorted(path.name for path in out.iterdir()) == ["a.musicxml", "b.musicxml"]
    lines = done.err.splitlines()
    assert len(lines) == 2
    assert "c.musicxml" in lines[0]
    assert "d.abc: holds 2 tunes" in lines[1]
    assert done.out.splitlines()[-1] == "4 files: 2 written, 2 failed"


def test_vary_all_good(folder: Path) -> None:
    """With nothing wrong the code is 0; tunes of one file are told apart by their numbers."""
    out = folder / "out"
    tunes = [f"{folder / 'd.abc'}#1", f"{folder / 'd.abc'}#2"]
    done = call("vary", *tunes, "-o", out)
    assert (done.code, done.err) == (0, "")
    assert sorted(path.name for path in out.iterdir()) == ["d-1.musicxml", "d-2.musicxml"]


def test_the_same_as_one_by_one(folder: Path) -> None:
    """A file among others becomes the same bytes as alone."""
    out, alone = folder / "out", folder / "alone.musicxml"
    assert call("vary", folder / "a.musicxml", folder / "b.xml", "-o", out).code == 0
    assert call("vary", folder / "a.musicxml", "-o", alone).code == 0
    assert (out / "a.musicxml").read_bytes() == alone.read_bytes()


def test_names_that_come_twice_are_numbered(folder: Path) -> None:
    """Two sources of one name do not write over each other."""
    (folder / "more").mkdir()
    (folder / "more" / "a.xml").write_bytes(RIFF.read_bytes())
    out = folder / "out"
    done = call("vary", folder / "a.musicxml", folder / "more" / "a.xml", "-o", out)
    assert done.code == 0
    assert sorted(path.name for path in out.iterdir()) == ["a-2.musicxml", "a.musicxml"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-s", "no-such-step", "-o", "out"), "no step"),
        (("--tuning", "no such", "-o", "out"), "tuning"),
        (("-o", "out.musicxml"), "name a folder"),
        (("-o", "-"), "name a folder"),
    ],
)
def test_a_wrong_call_is_2(folder: Path, words: tuple[str, ...], said: str) -> None:
    """What is wrong with the call is said once, and nothing is done."""
    words = tuple(str(folder / word) if word.startswith("out") else word for word in words)
    done = call("vary", folder / "a.musicxml", folder / "b.xml", *words)
    assert done.code == 2
    assert is_one_line(done.err)
    assert said in done.err
    assert not (folder / "out").exists()


def test_describe_goes_on(folder: Path) -> None:
    """Each good file is described in its turn, then the summary; the exit code is 1."""
    done = call("describe", folder / "a.musicxml", folder / "c.musicxml", DUET)
    assert done.code == 1
    assert is_one_line(done.err)
    assert done.out.index("a.musicxml") < done.out.index("two-boats")
    assert done.out.splitlines()[-1] == "3 files: 2 described, 1 failed"


def test_describe_json(folder: Path) -> None:
    """As JSON: the files that went well, and those that failed with their errors."""
    done = call("describe", folder / "a.musicxml", folder / "c.musicxml", "--json")
    values = json.loads(done.out)
    assert [Path(one["source"]).name for one in values["files"]] == ["a.musicxml"]
    assert [Path(one["file"]).name for one in values["failed"]] == ["c.musicxml"]


def test_vary_json(folder: Path) -> None:
    """As JSON: a report for each file as for one alone, and the failed ones."""
    done = call("vary", folder / "[ac].musicxml", "-o", folder / "out", "--json")
    values = json.loads(done.out)
    assert [set(one) >= {"source", "output", "changes"} for one in values["files"]] == [True]
    assert len(values["failed"]) == 1


def test_a_pattern_that_fits_nothing(folder: Path) -> None:
    """A pattern without a file is an error of the call."""
    done = call("describe", folder / "*.nothing")
    assert done.code == 2
    assert is_one_line(done.err)
    assert "fits no file" in done.err


def test_a_pattern_for_one_file(folder: Path) -> None:
    """One file stays one file: its report, no summary."""
    done = call("describe", folder / "a.music*")
    assert done.code == 0
    assert "files:" not in done.out


def test_a_family_for_each_file(folder: Path) -> None:
    """A step that makes several variants gives each file a folder of its own."""
    out = folder / "out"
    done = call(
        "vary", folder / "a.musicxml", folder / "b.xml",
        "-s", "reduce-chords:to=top", "-s", "all-strings", "-o", out, "-q",
    )  # fmt: skip
    assert done.code == 0
    assert sorted(path.name for path in out.iterdir()) == ["a", "b"]
    assert list((out / "a").iterdir())


# -- limits ----------------------------------------------------------------------------------


def test_limits_are_set_by_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """NECKWISE_LIMITS lowers a limit for every command; the line names it."""
    monkeypatch.setenv("NECKWISE_LIMITS", "notes=3")
    done = call("describe", RIFF)
    assert done.code == 2
    assert is_one_line(done.err)
    assert "raise the limit (notes)" in done.err


@pytest.mark.parametrize("text", ["notes", "notes=0", "notes=-1", "nothing=3", "notes=1e9"])
def test_limits_that_are_none(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is no limit is said with the name of the variable."""
    monkeypatch.setenv("NECKWISE_LIMITS", text)
    done = call("describe", RIFF)
    assert done.code == 2
    assert is_one_line(done.err)
    assert "NECKWISE_LIMITS" in done.err


@pytest.mark.parametrize("command", ["describe", "vary"])
def test_time_is_up(command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A score that takes longer than its seconds ends in one line, and nothing is written."""
    monkeypatch.setenv("NECKWISE_LIMITS", "seconds=1")
    slow = (
        "cli.commands.describe.load_score"
        if command == "describe"
        else "cli.write_variants.load_score"
    )
    monkeypatch.setattr(slow, lambda _: time.sleep(20))
    words: list[str | Path] = ["-o", tmp_path / "a.xml"] if command == "vary" else []
    done = call(command, RIFF, *words)
    assert done.code == 2
    assert is_one_line(done.err)
    assert "takes longer than 1 seconds" in done.err
    assert list(tmp_path.iterdir()) == []


def test_time_is_counted_for_each_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file that takes too long does not take the time of the others."""
    monkeypatch.setenv("NECKWISE_LIMITS", "seconds=2")
    monkeypatch.setattr(
        "cli.commands.describe.load_score",
        lambda name: time.sleep(20) if "slow" in name else load_score(name),
    )
    for name in ("a.xml", "slow.xml", "z.xml"):
        (tmp_path / name).write_bytes(RIFF.read_bytes())
    done = call("describe", tmp_path / "*.xml")
    assert done.code == 1
    assert done.out.splitlines()[-1] == "3 files: 2 described, 1 failed"
