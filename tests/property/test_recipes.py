"""A recipe, its command line and its TOML are three writings of one thing."""

from __future__ import annotations

import shlex
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from variants.errors import UsageError
from variants.recipes import (
    Recipe,
    command_line,
    parse_recipes,
    recipe_of_command,
    recipe_toml,
    usual_recipes,
)
from variants.steps import list_families, list_steps
from variants.toml_file import TomlLines

EXAMPLES = [text for info in list_steps() for text in info.examples]
EXAMPLES += [text for info in list_families() for text in info.examples]
_VALUES: dict[str, st.SearchStrategy[Any]] = {
    "steps": st.lists(st.sampled_from(EXAMPLES), min_size=1, max_size=3).map(tuple),
    "staves": st.sampled_from(["notation", "tab", "both"]),
    "marks": st.sampled_from([("none",), ("fingering,counting",), ("names", "strokes")]),
    "places": st.booleans(),
    "tuning": st.sampled_from(["drop-d", "D2-A2-D3-G3-B3-E4"]),
    "capo": st.integers(0, 12),
    "frets": st.integers(12, 24),
    "scale": st.sampled_from(["3/4", "640"]),
    "fingering": st.sampled_from(["keep", "fill", "new"]),
    "hand": st.sampled_from(["small", "medium", "large"]),
    "open_strings": st.sampled_from(["prefer", "avoid", "allow"]),
    "position": st.integers(1, 12),
}


@st.composite
def recipes(draw: Any) -> Recipe:  # noqa: ANN401 -- as hypothesis has it
    """Draw a recipe with some of its settings said."""
    names = draw(st.sets(st.sampled_from(sorted(_VALUES))))
    values = {name: draw(_VALUES[name]) for name in sorted(names)}
    return Recipe.model_validate(values)


@settings(max_examples=60)
@given(recipes(), st.sampled_from(["song.xml", "my song.mxl", "it's.xml"]))
def test_command_line_and_back(recipe: Recipe, file: str) -> None:
    """The command line that a recipe prints is read as the same recipe, quotes and all."""
    text = command_line(recipe, file=file, out="b c.musicxml")
    assert recipe_of_command(text) == recipe
    words = shlex.split(text)
    assert (words[:2], words[2], words[-1]) == (["neckwise", "vary"], file, "b c.musicxml")


@settings(max_examples=60)
@given(recipes(), st.sampled_from(["", "Title", 'A "quoted" one', "Tüte \\ #"]))
def test_toml_and_back(recipe: Recipe, title: str) -> None:
    """The TOML that a recipe prints is read as the same recipe."""
    told = recipe.model_copy(update={"title": title})
    assert parse_recipes(recipe_toml("a-1", told)) == {"a-1": told}


@pytest.mark.parametrize("name", list(usual_recipes()))
def test_usual_recipes_as_calls(name: str) -> None:
    """Each recipe of the usual set, written as a call, is the same but for its title."""
    recipe = usual_recipes()[name]
    assert recipe_of_command(command_line(recipe), title=recipe.title) == recipe


@settings(max_examples=60)
@given(st.lists(recipes(), min_size=1, max_size=4), st.data())
def test_every_value_is_found_in_its_line(rows: list[Recipe], data: st.DataObject) -> None:
    """The line that a fault would name is the one in which its key stands."""
    text = "\n".join(recipe_toml(f"r{number}", one) for number, one in enumerate(rows))
    number = data.draw(st.integers(0, len(rows) - 1))
    lines = text.splitlines()
    for key, _ in rows[number].said():
        line = TomlLines(text).at(("variants", f"r{number}", key))
        assert lines[line - 1].startswith(f"{key} = ")
        assert f"[variants.r{number}]" in lines[:line]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("neckwise vary a.xml --stves tab", "--stves is no option of neckwise vary"),
        ("neckwise vary a.xml --capo", "--capo has no value"),
        ("neckwise vary a.xml -s sloww", "there is no step 'sloww'"),
        ("neckwise vary 'a.xml", "the call cannot be read"),
    ],
)
def test_wrong_calls(text: str, words: str) -> None:
    """What is no call of neckwise vary is refused in one line."""
    with pytest.raises(UsageError, match=words) as caught:
        recipe_of_command(text)
    assert "\n" not in str(caught.value)
    assert caught.value.way_out
