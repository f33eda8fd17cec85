"""Recipes and families of variants on the command line."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from tests.cli.calling import RIFF, SAMPLES, call, is_one_line
from tests.xsd import validate
from variants.recipes import usual_recipes

GRACE = SAMPLES / "amazing-grace.musicxml"
OUT = Path("a.musicxml")


def test_a_recipe_is_its_call(tmp_path: Path) -> None:
    """A usual recipe gives the bytes that its printed call gives."""
    listed = json.loads(call("list", "recipes", "--json").out)["recipes"]
    assert [one["name"] for one in listed] == list(usual_recipes())
    by_name = {one["name"]: one["command"] for one in listed}
    for name in ("reading-only", "position-5", "capo-2"):
        one, two = tmp_path / "one.musicxml", tmp_path / "two.musicxml"
        assert call("vary", RIFF, "--variant", name, "-o", one, "-q").code == 0
        words = [
            {"FILE": str(RIFF), f"{name}.musicxml": str(two)}.get(word, word)
            for word in shlex.split(by_name[name])
        ]
        assert call(*words[1:], "-q").code == 0
        assert one.read_bytes() == two.read_bytes()


def test_a_file_of_ones_own(tmp_path: Path) -> None:
    """--recipe names a file; with one variant in it no name is needed."""
    recipes, out = tmp_path / "mine.toml", tmp_path / OUT
    recipes.write_text('[variants.slow]\nsteps = ["slow:percent=50"]\nstaves = "tab"\n')
    done = call("vary", RIFF, "--recipe", recipes, "-o", out, "--json")
    assert json.loads(done.out)["steps"] == ["slow:percent=50"]
    assert b"<sign>G</sign>" not in out.read_bytes()


def test_the_call_goes_before_the_recipe(tmp_path: Path) -> None:
    """Further steps follow those of the recipe; an option of the call replaces its own."""
    out = tmp_path / OUT
    words = ("--variant", "tab-only", "-s", "slow", "--staves", "notation", "-o", out, "--json")
    done = call("vary", RIFF, *words)
    assert json.loads(done.out)["steps"] == ["slow"]
    assert b"<sign>TAB</sign>" not in out.read_bytes()


def test_as_recipe_and_back(tmp_path: Path) -> None:
    """A call prints itself as a recipe, and the recipe does what the call does."""
    one, two, recipes = tmp_path / OUT, tmp_path / "b.musicxml", tmp_path / "r.toml"
    words = ("-s", "reduce-chords:to=root", "--hand", "small", "--mark", "counting")
    printed = call("vary", RIFF, *words, "-o", one, "--as-recipe", "mine")
    assert not one.exists()
    recipes.write_text(printed.out, encoding="utf-8")
    assert call("vary", RIFF, *words, "-o", one, "-q").code == 0
    assert call("vary", RIFF, "--recipe", recipes, "--variant", "mine", "-o", two, "-q").code == 0
    assert one.read_bytes() == two.read_bytes()


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (("--variant", "positon-5"), "did you mean position-5?"),
        (("--recipe", "none.toml"), "none.toml: cannot be read"),
        (("-s", "slow", "--as-recipe", "My Name"), "is no name for a file"),
        (("-s", "all-keys"), "several variants do not go into one file; name a folder"),
        (("-s", "all-keys", "-s", "all-strings"), "name"),
    ],
)
def test_wrong_calls(words: tuple[str, ...], text: str, tmp_path: Path) -> None:
    """One line says what is wrong; nothing is written."""
    done = call("vary", RIFF, *words, "-o", tmp_path / OUT)
    assert done.code == 2
    assert is_one_line(done.err)
    assert text in done.err
    assert list(tmp_path.iterdir()) == []


def test_all_keys_fill_a_folder(tmp_path: Path) -> None:
    """Twelve valid files, numbered along the circle; the report is a table, or JSON."""
    folder = tmp_path / "keys"
    done = call("vary", RIFF, "-s", "reduce-chords:to=root", "-s", "all-keys", "-o", folder)
    assert done.code == 0
    assert "12 variants" in done.out
    files = sorted(folder.iterdir())
    assert [path.name[:2] for path in files] == [f"{number:02}" for number in range(1, 13)]
    assert files[0].name == "01-a-minor.musicxml"
    assert all(validate(path.read_bytes()) == [] for path in files)
    again = call("vary", RIFF, "-s", "all-keys", "-o", folder, "--json")
    keys = [one["key"] for one in json.loads(again.out)["variants"]]
    assert len(set(keys)) == 12


def test_all_strings_fill_a_folder(tmp_path: Path) -> None:
    """A file for each string, named by its key; the step after it is done for each."""
    folder = tmp_path / "strings"
    done = call("vary", GRACE, "-s", "all-strings", "-s", "slow", "-o", folder, "--json")
    values = json.loads(done.out)["variants"]
    assert [Path(one["output"]).name[:8] for one in values] == [
        f"string-{number}" for number in range(1, 7)
    ]
    assert all(one["steps"][-1] == "slow" for one in values)


def test_a_family_is_whole_or_not_there(tmp_path: Path) -> None:
    """A riff in fifths is no line: one line says so, and there is no folder."""
    folder = tmp_path / "strings"
    done = call("vary", RIFF, "-s", "all-strings", "-o", folder)
    assert done.code == 2
    assert is_one_line(done.err)
    assert "measure 1, beat 1: two notes cannot sound on one string" in done.err
    assert not folder.exists()
