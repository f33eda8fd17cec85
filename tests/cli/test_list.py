"""`neckwise list`."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.calling import RIFF, call
from variants.guitar import TUNINGS
from variants.marks import MARKS
from variants.steps import list_families, list_steps


def test_steps_have_all_they_take() -> None:
    """Every step stands there with its parameters and something to type."""
    done = call("list", "steps")
    assert done.code == 0
    named = [(info.name, tuple(info.parameters)) for info in list_steps()]
    named += [(info.name, tuple(info.parameters)) for info in list_families()]
    for name, parameters in named:
        assert f"\n{name}\n" in done.out
        for parameter in parameters:
            assert f"  {parameter}=" in done.out


def test_steps_as_json() -> None:
    """The same as values."""
    steps = json.loads(call("list", "steps", "--json").out)["steps"]
    names = [info.name for info in list_steps()] + [info.name for info in list_families()]
    assert [step["name"] for step in steps] == names
    assert all(step["summary"] and step["examples"] for step in steps)


def test_tunings() -> None:
    """Every tuning has its notes, from the highest-numbered string to string 1."""
    done = call("list", "tunings")
    for tuning in TUNINGS:
        assert f"{tuning.name} " in done.out
        assert tuning.notes in done.out
    values = json.loads(call("list", "tunings", "--json").out)["tunings"]
    assert [one["notes"] for one in values] == [tuning.notes for tuning in TUNINGS]


def test_marks_work_as_listed(tmp_path: Path) -> None:
    """Every mark that is listed, with every word of its choices, can be asked for."""
    marks = json.loads(call("list", "marks", "--json").out)["marks"]
    assert [mark["name"] for mark in marks] == list(MARKS)
    for mark in marks:
        words = [f"={word}" for choice in mark["choices"] for word in choice["words"]]
        for word in ["", *words]:
            wish = f"{mark['name']}{word}"
            done = call("vary", RIFF, "--mark", wish, "-o", tmp_path / "a.musicxml")
            assert (done.code, done.err) == (0, ""), wish


@pytest.mark.parametrize("tuning", [one.name for one in TUNINGS])
def test_listed_tunings_work(tuning: str, tmp_path: Path) -> None:
    """Each name that is listed can be given to --tuning; the octave is made to fit."""
    out = tmp_path / "a.musicxml"
    words = ("-s", "reduce-chords:to=root", "-s", "transpose:octave=fit", "--tuning", tuning)
    done = call("vary", RIFF, *words, "-o", out)
    assert (done.code, done.err) == (0, "")


@pytest.mark.parametrize("thing", ["steps", "marks", "tunings", "recipes"])
def test_fits_the_terminal(thing: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """No line is longer than 80 columns."""
    monkeypatch.setenv("COLUMNS", "80")
    assert max(map(len, call("list", thing).out.splitlines())) <= 80
