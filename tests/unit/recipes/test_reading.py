"""Files of recipes: what is read, and what is said of a fault, with its line."""

from __future__ import annotations

from pathlib import Path

import pytest

from variants.errors import InputError, UsageError
from variants.finish import MARKS
from variants.recipes import faults_in, parse_recipes, pick_recipe, read_recipes, usual_recipes

GOOD = """
[variants.one]
title = "One"
steps = ["slow:percent=70", "capo"]
staves = "tab"
open-strings = "avoid"

[variants.two]
"""


def test_what_is_read() -> None:
    """Settings as on the command line, in the order of the file; the rest is usual."""
    recipes = parse_recipes(GOOD)
    assert list(recipes) == ["one", "two"]
    assert recipes["one"].steps == ("slow:percent=70", "capo")
    assert recipes["one"].open_strings == "avoid"
    assert recipes["two"].marks == MARKS
    assert recipes["two"].staves == "both"


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        (
            '[variants.a]\nsteps = [\n  "slow",\n  "sloww:percent=5",\n]',
            (
                "r.toml, line 4: variant a, steps, number 2: there is no step 'sloww'; did you mean"
                " slow?"
            ),
        ),
        (
            '[variants.a]\n\nstaves = "both"\n[variants.b]\nstaves = "tabs"',
            (
                "r.toml, line 5: variant b, staves: 'tabs' is not allowed; use 'notation', 'tab' or"
                " 'both'"
            ),
        ),
        (
            '[variants.a]\nstep = ["slow"]',
            "r.toml, line 2: variant a, step: there is no such setting; did you mean steps?",
        ),
        (
            '[variants.a]\nmarks = ["counting", "strokez"]',
            "r.toml, line 2: variant a, marks: there is no mark 'strokez'; did you mean strokes?",
        ),
        (
            '[variants.a]\ntuning = "drop-x"',
            "r.toml, line 2: variant a, tuning: no tuning is called 'drop-x'; did you mean",
        ),
        ("[variants.a]\nposition = 0", "r.toml, line 2: variant a, position: input should be"),
        ("[variants.a]\ncapo = 'two'", "r.toml, line 2: variant a, capo: input should be"),
        (
            '[variants."my song"]',
            "r.toml, line 1: variant my song: is no name for a file",
        ),
        ("# nothing", "r.toml, line 1: there are no variants; write [variants.NAME] above"),
        ("x = 1\n[variants.a]", "r.toml, line 1: only variants can stand here; write"),
        ("[variants.a]\nsteps = [", "r.toml, line 2: is no TOML"),
        ("[variants.a]\nsteps = slow", "r.toml, line 2: is no TOML"),
    ],
)
def test_a_fault_has_its_line(text: str, fault: str) -> None:
    """One line: the file, the line, the variant, the cause and the way out."""
    with pytest.raises(UsageError) as caught:
        parse_recipes(text, name="r.toml")
    assert str(caught.value).startswith(fault)
    assert "\n" not in str(caught.value)
    assert caught.value.way_out


def test_all_faults_in_order() -> None:
    """Every fault is one line; the first one says how many more there are."""
    text = '[variants.a]\nhand = "huge"\nplaces = "perhaps"\n[variants.b]\nsteps = ["capo:fret=x"]'
    faults = [str(fault) for fault in faults_in(text, name="r.toml")]
    assert [fault.split(":")[0] for fault in faults] == [
        "r.toml, line 2",
        "r.toml, line 3",
        "r.toml, line 5",
    ]
    with pytest.raises(UsageError, match="2 more faults in this file"):
        parse_recipes(text)
    assert faults_in(GOOD) == []


def test_files(tmp_path: Path) -> None:
    """A file is read with or without a byte order mark; what is no text is refused."""
    path = tmp_path / "r.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    assert list(read_recipes(path)) == ["one", "two"]
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="is no text in UTF-8"):
        read_recipes(path)
    with pytest.raises(InputError, match="cannot be read: no such file"):
        read_recipes(tmp_path / "none.toml")


def test_picking() -> None:
    """A name, or the only one; else all names are listed."""
    recipes = parse_recipes(GOOD)
    assert pick_recipe(recipes, "two") is recipes["two"]
    only = parse_recipes("[variants.a]")
    assert pick_recipe(only, "") is only["a"]
    with pytest.raises(UsageError, match="name one with --variant: one, two"):
        pick_recipe(recipes, "")
    with pytest.raises(UsageError, match=r"did you mean two\? there are one, two"):
        pick_recipe(recipes, "twoo")


def test_the_usual_set() -> None:
    """The set has what a teacher makes of one piece, each with its title."""
    recipes = usual_recipes()
    assert {
        *("reading-only", "open-position", "position-5", "inverted-dyads", "one-string-6"),
        *("one-string-5", "easy-rhythm", "twelve-keys"),
    } <= set(recipes)
    assert all(recipe.title for recipe in recipes.values())
    assert len({recipe.title for recipe in recipes.values()}) == len(recipes)
