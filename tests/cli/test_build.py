"""`neckwise build` and `neckwise new` as they are called."""

from __future__ import annotations

import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.calling import ROOT, call, is_one_line
from tests.unit.songset.sets import RECIPES, SET, make_set, song, tree


def _edit(folder: Path) -> None:
    text = song("E4 F4 G4 A4", "G4 E4 F4 E4", title="Tune 2")
    (folder / "songs" / "tune-2.musicxml").write_text(text, encoding="utf-8")


def test_build_check_build(tmp_path: Path) -> None:
    """New: check says no; built: yes; edited source: no, with what is stale; built again: yes."""
    path = make_set(tmp_path)
    new = call("build", path, "--check")
    assert (new.code, new.out.count("was never made")) == (1, 6)
    done = call("build", path, "--jobs", "1")
    assert (done.code, done.err) == (0, "")
    assert "6 made" in done.out
    assert call("build", path, "--check").code == 0
    _edit(tmp_path)
    stale = call("build", path, "--check")
    assert (stale.code, stale.out.count("is stale")) == (1, 3)
    assert "3 made" in call("build", path, "--jobs", "1").out
    again = call("build", path)
    assert again.code == 0
    assert "nothing to do" in " ".join(again.out.split())


def test_nothing_to_do_imports_nothing_heavy(tmp_path: Path) -> None:
    """A build with nothing to do, and a check, load no library for music, numbers or drawing."""
    path = make_set(tmp_path)
    assert call("build", path, "--jobs", "1").code == 0
    heavy = ("music21", "verovio", "numpy", "lxml", "typst", "matplotlib", "variants.recipes")
    code = (
        "import sys\nfrom cli.main import run\n"
        f"codes = run(['build', {str(path)!r}]), run(['build', {str(path)!r}, '--check'])\n"
        f"print(codes, *[name for name in {heavy!r} if name in sys.modules])\n"
    )
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.splitlines()[-1] == "(0, 0)"


def test_plan(tmp_path: Path) -> None:
    """The plan names every unit with source, state and key, and makes nothing."""
    path = make_set(tmp_path)
    text = call("build", path, "--plan")
    assert text.code == 0
    assert text.out.count(" new ") == 6
    values = json.loads(call("build", path, "--plan", "--json").out)
    assert [one["variant"] for one in values["units"]][:2] == ["tune-1/plain", "tune-1/tab"]
    assert {one["state"] for one in values["units"]} == {"new"}
    assert not (tmp_path / "out").exists()


def test_json_quiet_github(tmp_path: Path) -> None:
    """The outcome for programs, for nobody, and for a build service."""
    path = make_set(tmp_path)
    (tmp_path / "songs" / "broken.musicxml").write_text("<no>", encoding="utf-8")
    first = call("build", path, "--json", "--jobs", "1")
    assert first.code == 1
    values = json.loads(first.out)
    assert (values["made"], len(values["refused"])) == (9, 3)
    quiet = call("build", path, "--quiet")
    assert (quiet.code, quiet.out, quiet.err) == (1, "", "")
    lines = call("build", path, "--format", "github").out.splitlines()
    commands = [line for line in lines if line.startswith("::error ")]
    assert len(commands) == 3
    assert f"file={tmp_path}/songs/broken.musicxml,title=broken/plain::" in commands[0]
    (tmp_path / "out" / "tune-1" / "tab.musicxml").write_text("mine", encoding="utf-8")
    check = call("build", path, "--check", "--format", "github")
    assert check.code == 1
    assert f"::warning file={tmp_path}/out/tune-1/tab.musicxml,title=tune-1/tab::" in check.out
    found = json.loads(call("build", path, "--check", "--json").out)["findings"]
    assert {one["state"] for one in found} == {"refused", "edited"}


def test_diff(tmp_path: Path) -> None:
    """After a build, or with a check, what differs from an older report."""
    path = make_set(tmp_path)
    call("build", path, "--jobs", "1")
    old = tmp_path / "old.json"
    old.write_bytes((tmp_path / "out" / "report.json").read_bytes())
    _edit(tmp_path)
    done = call("build", path, "--jobs", "1", "--diff", old)
    assert done.code == 0
    assert "tune-2/tab: other notes in measure 2" in done.out
    assert (
        "No variant differs"
        in call("build", path, "--check", "--diff", tmp_path / "out" / "report.json").out
    )


def test_force_and_out(tmp_path: Path) -> None:
    """Another output folder is made; a file that somebody changed needs --force."""
    path = make_set(tmp_path, songs=1)
    assert call("build", path, "--out", tmp_path / "else", "--jobs", "1").code == 0
    edited = tmp_path / "else" / "tune-1" / "tab.musicxml"
    edited.write_text("mine", encoding="utf-8")
    left = call("build", path, "--out", tmp_path / "else")
    assert left.code == 1
    assert "--force writes over it" in left.out.replace("\n  ", " ")
    assert call("build", path, "--out", tmp_path / "else", "--force").code == 0
    assert edited.read_text("utf-8") != "mine"
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("build", "no.toml"), "no.toml: cannot be read"),
        (("build",), "see neckwise build --help"),
        (("build", "{set}", "--plan", "--check"), "ask one at a time"),
        (("build", "{set}", "--scheduler", "nonsense"), "no scheduler answers at nonsense"),
        (("build", "{set}", "--check", "--diff", "no.json"), "no.json: cannot be read"),
        (("new", "{folder}"), "is never written over"),
    ],
)
def test_wrong_calls(tmp_path: Path, words: tuple[str, ...], said: str) -> None:
    """Whatever is wrong with a call is one line and exit code 2."""
    path = make_set(tmp_path, songs=1)
    done = call(*(word.format(set=path, folder=tmp_path) for word in words))
    assert done.code == 2
    assert is_one_line(done.err)
    assert said in done.err


def test_a_fault_in_the_set_file(tmp_path: Path) -> None:
    """A fault of the set file names file and line."""
    path = make_set(tmp_path, text=SET.replace("pictures", "picturs") + RECIPES)
    done = call("build", path)
    assert done.code == 2
    assert is_one_line(done.err)
    assert f"{path}, line 7: build, picturs: there is no such setting" in done.err


def test_bar_on_a_terminal_only(tmp_path: Path) -> None:
    """On a terminal a bar with the time left; in a pipe not a word of it."""
    path = make_set(tmp_path)
    assert call("build", path, "--jobs", "1", "--out", tmp_path / "piped").err == ""
    main, other = pty.openpty()
    process = subprocess.Popen(  # noqa: S603 - our own command
        [sys.executable, "-c", "from cli.main import main; main()", "build", path, "--jobs", "1"],
        cwd=ROOT,
        stdout=subprocess.DEVNULL,
        stderr=other,
    )
    os.close(other)
    seen = b""
    try:
        while piece := os.read(main, 4096):
            seen += piece
    except OSError:
        pass  # the terminal is gone with its only user
    os.close(main)
    assert process.wait() == 0
    assert b"] 3 of 6, 0:0" in seen
    assert b"left, tune-1" in seen
    assert tree(tmp_path / "piped") == tree(tmp_path / "out")


def test_new_then_build(tmp_path: Path) -> None:
    """What new writes can be planned at once; its last line is the call that builds it."""
    done = call("new", tmp_path / "mine")
    assert done.code == 0
    assert "neckwise build" in done.out
    plan = call("build", tmp_path / "mine" / "set.toml", "--plan")
    assert plan.code == 0
    assert plan.out.count(" new ") == 9
    values = json.loads(call("new", tmp_path / "other", "--json").out)
    assert len(values["files"]) == 4
