"""`neckwise fit`, and what `describe` and `list` say of levels."""

from __future__ import annotations

import contextlib
import json
import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.calling import DUET, SAMPLES, call, is_one_line
from variants.cautions import HEALTH
from variants.levels import check_written, load_level
from variants.musicxml import read

TUNE = SAMPLES / "auld-lang-syne.musicxml"
RIFF = SAMPLES / "harbour-riff.musicxml"
ARPEGGIO = SAMPLES / "lantern-arpeggio.musicxml"
GRACE = SAMPLES / "amazing-grace.musicxml"


def test_fit_writes_what_meets_the_level(tmp_path: Path) -> None:
    """The file is there, meets the level when read again, and the report says what it cost."""
    out = tmp_path / "easy.musicxml"
    done = call("fit", TUNE, "--level", "level-2", "-o", out)
    assert done.code == 0, done.err
    assert not check_written(read(out), load_level("level-2"))
    assert "gives up" in done.out
    assert HEALTH in done.out


def test_explain_is_a_recipe_for_vary(tmp_path: Path) -> None:
    """The plan that --explain prints can be run by vary and gives the same notes and places."""
    out, again = tmp_path / "easy.musicxml", tmp_path / "again.musicxml"
    done = call("fit", TUNE, "--level", "level-2", "-o", out, "--json")
    steps = json.loads(done.out)["steps"]
    words = [word for step in steps for word in ("-s", step)]
    assert call("vary", TUNE, *words, "-o", again).code == 0

    def notes(path: Path) -> list[tuple[str, str]]:
        return [
            (str(note.pitch), str(note.place))
            for measure in read(path).parts[0].measures
            for voice in measure.voices
            for event in voice.events
            for note in event.notes
        ]

    assert notes(out) == notes(again)
    text = call("fit", TUNE, "--level", "level-2", "-o", out, "--explain").out
    assert "The same as a recipe" in text
    assert "Measure by measure" in text
    assert "neckwise vary" in text


def test_json_of_a_fit(tmp_path: Path) -> None:
    """The report of vary with the level and the losses."""
    out = tmp_path / "easy.musicxml"
    found = json.loads(call("fit", TUNE, "--level", "level-1", "-o", out, "--json").out)
    assert {"source", "output", "steps", "key", "range", "kept", "changes"} <= found.keys()
    assert found["level"] == "level-1"
    assert found["loss"] > 0
    assert all(0 <= value <= 1 for value in found["losses"].values())


def test_what_meets_a_level_is_not_changed(tmp_path: Path) -> None:
    """No step is run, and nothing is given up."""
    out = tmp_path / "same.musicxml"
    done = call("fit", GRACE, "--level", "level-6", "-o", out)
    assert done.code == 0
    assert "none: it meets the level as it is" in done.out
    assert "nothing" in done.out


def test_ladder_is_a_folder(tmp_path: Path) -> None:
    """One version for each level, none harder than the next."""
    done = call("fit", GRACE, "--ladder", "-o", tmp_path / "set", "--json")
    assert done.code == 0, done.err
    fits = json.loads(done.out)["fits"]
    own = [one for one in fits if not one["same_as"]]
    names = [f"{one['level']}.musicxml" for one in own]
    assert sorted(one.name for one in (tmp_path / "set").iterdir()) == names
    losses = [one["loss"] for one in fits]
    assert losses == sorted(losses, reverse=True)
    # This tune in quarters and halves is the same from level 3 on, and written once.
    assert [one["same_as"] for one in fits[-2:]] == ["level-3", "level-3"]


def test_floor_is_the_answer_no(tmp_path: Path) -> None:
    """A tune whose long chords hide it keeps too little at a floor of all of it, and says so."""
    out = tmp_path / "a.musicxml"
    done = call("fit", ARPEGGIO, "--level", "level-1", "-o", out)
    assert done.code == 1
    assert "level-3 keeps the tune" in " ".join(done.out.split())
    assert not out.exists()


def test_a_tune_by_name_and_phrases_by_measure(tmp_path: Path) -> None:
    """A version begins and ends with the phrases that the call names; a wrong line is refused."""
    out = tmp_path / "a.musicxml"
    words = ("fit", TUNE, "--level", "level-2", "-o", out)
    done = call(*words, "--phrases", "1,5", "--json", "--force")
    assert done.code == 0, done.err
    found = json.loads(done.out)
    assert found["tune"]["kept"] >= 0.85
    cut = [step for step in found["steps"] if step.startswith(("excerpt", "measures"))]
    assert all(" 5" not in step and "2/4" not in step for step in cut)
    assert call(*words, "--tune", "voice 9").code == 2


def test_three_best(tmp_path: Path) -> None:
    """--best writes so many, the least loss first."""
    done = call("fit", GRACE, "--level", "level-2", "--best", "2", "-o", tmp_path / "a.musicxml")
    assert done.code == 0
    names = sorted(one.name for one in tmp_path.iterdir())
    assert names == ["a-2.musicxml", "a.musicxml"]


def test_no_fit_is_the_answer_no(tmp_path: Path) -> None:
    """Exit code 1, the nearest plan and the limit that blocks it, and nothing is written."""
    level = tmp_path / "nowhere.toml"
    level.write_text('name = "nowhere"\n[[areas]]\nstrings = [1]\nfrets = [0, 1]\n')
    out = tmp_path / "out.musicxml"
    done = call("fit", TUNE, "--level", level, "-o", out)
    assert done.code == 1
    assert "nothing meets nowhere" in done.out
    assert not out.exists()
    found = json.loads(call("fit", TUNE, "--level", level, "-o", out, "--json").out)
    assert found["refused"][0]["blocked_by"]


@pytest.mark.parametrize(
    "words",
    [
        (TUNE,),
        (TUNE, "--level", "level-9"),
        (TUNE, "--level", "level-1", "--weights", "keys=2"),
        (TUNE, "--level", "level-1", "--weights", "key=-2"),
        (TUNE, "--level", "nothing.toml"),
        (DUET, "--level", "level-1"),
    ],
)
def test_wrong_calls_are_one_line(tmp_path: Path, words: tuple[str, ...]) -> None:
    """What is wrong with a call is one line and exit code 2, and nothing is written."""
    done = call("fit", *words, "-o", tmp_path / "out.musicxml")
    assert done.code == 2
    assert is_one_line(done.err)
    assert not list(tmp_path.iterdir())


def test_describe_levels() -> None:
    """Which levels are met, each obstacle with its measure, and the factors."""
    done = call("describe", GRACE, "--levels")
    assert done.code == 0
    assert "level-6: yes" in done.out
    assert "level-1: no" in done.out
    assert "measure 1" in done.out
    assert "How hard it is" in done.out
    assert HEALTH in done.out
    found = json.loads(call("describe", GRACE, "--levels", "--json").out)
    assert [one["level"] for one in found["levels"]] == [f"level-{n}" for n in range(1, 7)]
    assert {"group", "name", "value", "unit", "measure", "reason"} <= found["factors"][0].keys()


def test_describe_teaches_after() -> None:
    """What a piece practises, and what of it is new after another one."""
    text = call("describe", TUNE, "--teaches", "--after", GRACE).out
    assert "What it practises" in text
    assert "What of it is new" in text
    found = json.loads(
        call("describe", TUNE, "--teaches", "--after", TUNE, "--against", "level-1", "--json").out
    )
    assert found["teaches"]
    assert found["new"] == []
    assert found["coverage"]["neck"]


def test_list_levels() -> None:
    """Every level with its limits and their reasons."""
    text = call("list", "levels").out
    assert all(f"level-{n}:" in text for n in range(1, 7))
    assert "Waltham" in text
    assert len(json.loads(call("list", "levels", "--json").out)["levels"]) == 6


def test_bar_on_a_terminal_only(tmp_path: Path) -> None:
    """On a terminal a bar grows and is wiped away; in a pipe nothing of it is left."""
    call = [sys.executable, "-c", "from cli.main import main; main()", "fit", str(RIFF)]
    call += ["--ladder", "-o", str(tmp_path / "out")]
    ours, theirs = pty.openpty()
    done = subprocess.run(call, stdout=subprocess.PIPE, stderr=theirs, check=False)  # noqa: S603
    os.close(theirs)
    seen = b""
    with contextlib.suppress(OSError):
        while piece := os.read(ours, 4096):
            seen += piece
    os.close(ours)
    assert done.returncode == 0
    assert b"level-1: 0 versions tried" in seen
    shares = [piece.count(b"=") for piece in seen.split(b"[") if b"]" in piece]
    assert shares == sorted(shares)
    assert shares[-1] > shares[0]
    assert seen.endswith(b"\r\x1b[2K")
    assert b"\x1b" not in done.stdout
    assert not subprocess.run([*call, "--force"], capture_output=True, check=True).stderr  # noqa: S603
