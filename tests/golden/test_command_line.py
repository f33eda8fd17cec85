"""Everything that the command line says, whole: options, descriptions, keys of JSON, errors.

``pytest tests/golden/test_command_line.py --update-golden`` writes the files anew; a fault that
only changes a default, a key or the way out of an error shows as a line of difference.
"""

from __future__ import annotations

import json
import shutil
from enum import StrEnum
from pathlib import Path
from typing import Any

import pytest
import typer

from cli.main import app
from tests.cli.calling import DUET, RIFF, call
from tests.conftest import Golden
from tests.unit.songset.sets import make_set, song
from variants.recipes import usual_recipes
from variants.steps import list_families, list_steps

FILES = Path(__file__).parent / "command_line"
KEYS = {
    "with-mode": "<key><fifths>-1</fifths><mode>minor</mode></key>",
    "without-mode": "<key><fifths>2</fifths></key>",
    "without-key": "",
}


@pytest.mark.parametrize("name", KEYS)
def test_describe(name: str, tmp_path: Path, golden: Golden) -> None:
    """What a piece is, for people and as JSON, with, without a mode, and without a signature."""
    text = song("E4 F4 G4 A4", "D4 E4 F4 D4", title="Small tune", rights="CC0 1.0")
    path = tmp_path / "tune.musicxml"
    path.write_text(text.replace("<key><fifths>0</fifths></key>", KEYS[name]), encoding="utf-8")
    words = ("describe", path, "--levels", "--teaches", "--against", "level-1")
    parts = [call(*words), call(*words, "--json")]
    assert [one.code for one in parts] == [0, 0]
    found = "\n".join(one.out for one in parts).replace(str(path), "tune.musicxml")
    golden(FILES / f"describe-{name}.txt", found)


def test_options(golden: Golden) -> None:
    """Every option of every command, with its words, its values and its default."""
    root: Any = typer.main.get_command(app)
    lines: list[str] = []
    for name in sorted(root.commands):
        lines.append(name)
        for one in root.commands[name].params:
            words = " ".join((*one.opts, *one.secondary_opts))
            taken = one.type_descriptor.annotation
            is_choice = isinstance(taken, type) and issubclass(taken, StrEnum)
            kind = "|".join(taken) if is_choice else str(getattr(taken, "__name__", taken))
            bounds = f" {one.min}..{one.max}" if (one.min, one.max) != (None, None) else ""
            many = " again" if one.multiple or one.nargs != 1 else ""
            default = str(one.default) if isinstance(one.default, StrEnum) else repr(one.default)
            state = "required" if one.required else f"default {default}"
            lines.append(f"  {words}: {kind}{bounds}{many}, {state}")
    golden(FILES / "options.txt", "\n".join(lines) + "\n")


def _shape(value: object) -> object:
    """Return the keys of a JSON value, and what kind of value stands under each."""
    if isinstance(value, dict):
        return {key: _shape(one) for key, one in value.items()}
    if isinstance(value, list):
        found: list[object] = []
        for one in map(_shape, value):
            if one not in found:
                found.append(one)
        return found
    return type(value).__name__


JSON_CALLS = {
    "describe": ("describe", RIFF),
    "describe levels": ("describe", RIFF, "--levels", "--teaches", "--against", "level-2"),
    "describe several": ("describe", RIFF, "nothing.xml"),
    "vary": ("vary", RIFF, "-s", "transpose:interval=M2", "-o", "a.musicxml"),
    "vary explained": ("vary", RIFF, "--explain", "-o", "a.musicxml"),
    "vary several": ("vary", RIFF, "nothing.xml", "-o", "several"),
    "vary family": (
        "vary",
        RIFF,
        *("-s", "reduce-chords:to=top", "-s", "all-strings", "-o", "family"),
    ),
    "finger alternatives": ("finger", RIFF, "--alternatives", "2", "-o", "f.musicxml"),
    "ways": ("ways", RIFF, "--most", "2"),
    "fit": ("fit", RIFF, "--level", "level-3", "-o", "fit.musicxml"),
    "fit refused": ("fit", RIFF, "--level", "none.toml", "-o", "none.musicxml"),
    "proof": ("proof", "wrong.musicxml"),
    "proof against": ("proof", "tune.musicxml", "--against", "wrong.musicxml"),
    "sheet": ("sheet", RIFF, "-o", "a.svg"),
    "build plan": ("build", "set.toml", "--plan"),
    "build": ("build", "set.toml", "--jobs", "1"),
    "build check": ("build", "set.toml", "--check"),
    "build diff": ("build", "set.toml", "--check", "--diff", "old.json"),
    "new": ("new", "new-set"),
    **{
        f"list {one}": ("list", one)
        for one in ("steps", "marks", "tunings", "rules", "recipes", "levels")
    },
}


@pytest.mark.slow
def test_keys_of_every_json(
    tmp_path: Path, golden: Golden, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The keys of each ``--json``, with the kinds of their values, and the exit code."""
    monkeypatch.chdir(tmp_path)
    make_set(tmp_path, songs=1)
    tune = tmp_path / "songs" / "tune-1.musicxml"
    text = tune.read_text(encoding="utf-8")
    Path("tune.musicxml").write_text(text, encoding="utf-8")
    wrong = text.replace("<step>A</step>", "<step>B</step>", 1)
    Path("wrong.musicxml").write_text(
        wrong.replace("<duration>1</duration>", "<duration>2</duration>", 1), encoding="utf-8"
    )
    Path("none.toml").write_text(
        'name = "none"\n[limits.notes-at-once]\nvalue = 1\n[limits.measures]\nvalue = 1\n',
        encoding="utf-8",
    )
    lines: list[str] = []
    for name, words in JSON_CALLS.items():
        if name == "build check":
            tune.write_text(wrong, encoding="utf-8")
            Path("out/tune-1/tab.musicxml").unlink()
            shutil.copy("out/report.json", "old.json")
        done = call(*words, "--json")
        assert done.out, (name, done)
        text = done.out if name != "build diff" else done.out[done.out.index("\n}\n") + 3 :]
        shape = _shape(json.loads(text))
        lines += [f"{name}: exit {done.code}", json.dumps(shape, indent=1), ""]
    golden(FILES / "json.txt", "\n".join(lines))


ERRORS: tuple[tuple[str | Path, ...], ...] = (
    ("nothing",),
    ("vary", "nothing.xml", "-o", "a.xml"),
    ("vary", RIFF),
    ("vary", RIFF, "-o", "a.txt"),
    ("vary", RIFF, "-o", "nowhere/a.xml"),
    ("vary", RIFF, "-o", "theirs.xml"),
    ("vary", RIFF, "-o", "folder"),
    ("vary", RIFF, RIFF.with_name("low-tide-study.musicxml"), "-o", "a.xml"),
    ("vary", RIFF, "-o", "a.xml", "-s", "transpos"),
    ("vary", RIFF, "-o", "a.xml", "-s", "transpose:intervall=m3"),
    ("vary", RIFF, "-o", "a.xml", "-s", "transpose:interval=q3"),
    ("vary", RIFF, "-o", "a.xml", "-s", "single-string"),
    ("vary", RIFF, "-o", "-", "-s", "all-keys"),
    ("vary", RIFF, "-o", "a.xml", "--tuning", "drop-q"),
    ("vary", RIFF, "-o", "a.xml", "--mark", "fingerings"),
    ("vary", RIFF, "-o", "a.xml", "--hand", "huge"),
    ("vary", RIFF, "-o", "a.xml", "--scale", "9/8"),
    ("vary", RIFF, "-o", "a.xml", "--position", "99"),
    ("vary", RIFF, "-o", "a.xml", "--variant", "nobody"),
    ("vary", DUET, "-o", "a.xml", "--part", "Drums"),
    ("vary", "no-*.xml", "-o", "a.xml"),
    ("vary", RIFF, "-o", "a.xml", "--stafes", "tab"),
    ("finger", RIFF, "-o", "-", "--alternatives", "2"),
    ("ways", RIFF, "-o", "nowhere/ways"),
    ("fit", RIFF, "-o", "a.xml"),
    ("fit", RIFF, "-o", "a.xml", "--level", "level-9"),
    ("fit", RIFF, "-o", "a.xml", "--level", "level-1", "--weights", "kee=2"),
    ("proof", "theirs.xml", "--fix"),
    ("proof", RIFF, "--select", "no-rule"),
    ("proof", RIFF, DUET, "--against", RIFF),
    ("sheet", RIFF, "-o", "a.doc"),
    ("sheet", RIFF, "-o", "a.svg", "--exercise", "clap"),
    ("sheet", RIFF, DUET, "-o", "a.mid"),
    ("sheet", RIFF, "-o", "a.pdf", "--name", "one", "--name", "two"),
    ("build", "nothing.toml"),
    ("build", "folder"),
    ("build", "set.toml", "--plan", "--check"),
    ("build", "wrong.toml"),
    ("build", "set.toml", "--check", "--diff", "theirs.xml"),
    ("new", "nowhere/new"),
    ("list", "stepps"),
    ("describe", "theirs.xml"),
    ("describe", RIFF, "--against", "level-0"),
)


def test_errors(tmp_path: Path, golden: Golden, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each error whole: place, cause and way out, and the exit code 2."""
    monkeypatch.chdir(tmp_path)
    make_set(tmp_path, songs=1)
    Path("folder").mkdir()
    Path("theirs.xml").write_text("<something/>", encoding="utf-8")
    Path("wrong.toml").write_text("[build]\nfoldr = 'out'\n", encoding="utf-8")
    lines: list[str] = []
    before = sorted(tmp_path.rglob("*"))
    for words in ERRORS:
        done = call(*words)
        assert done.code == 2, (words, done)
        assert done.err.startswith("neckwise: ")
        shown = " ".join(one.name if isinstance(one, Path) else one for one in words)
        lines += [shown, f"  {done.err.removeprefix('neckwise: ').strip()}"]
        assert "; " in lines[-1], f"{shown} names no way out"
    assert sorted(tmp_path.rglob("*")) == before
    text = "\n".join(lines).replace(str(tmp_path), "FOLDER").replace(f"{RIFF.parent}/", "")
    # A new step, or a new recipe, is no change of what is said of a wrong one.
    steps = sorted([*(one.name for one in list_steps()), *(one.name for one in list_families())])
    for names, word in ((steps, "STEPS"), (list(usual_recipes()), "RECIPES")):
        text = text.replace(", ".join(names), word)
    golden(FILES / "errors.txt", text + "\n")
