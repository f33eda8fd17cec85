"""The JSON Schema of recipes is fresh, and says of each usual recipe that it may stand so."""

from __future__ import annotations

import json
import tomllib
from importlib import resources
from pathlib import Path

from tests.conftest import Golden
from variants.recipes import Recipe, parse_recipes
from variants.recipes.schema import schema_text

PATH = Path(__file__).parents[3] / "docs" / "recipes.schema.json"


def test_schema_is_fresh(golden: Golden) -> None:
    """What is published is what the model says."""
    golden(PATH, schema_text())


def test_schema_knows_every_setting() -> None:
    """Every setting stands in it as it is written, with its help; nothing else is allowed."""
    recipe = json.loads(schema_text())["$defs"]["Recipe"]
    assert recipe["additionalProperties"] is False
    assert list(recipe["properties"]) == [n.replace("_", "-") for n in Recipe.model_fields]
    assert all(one["description"] for one in recipe["properties"].values())


def test_usual_set_only_uses_settings_of_the_schema() -> None:
    """No usual recipe has a key that an editor would mark."""
    text = resources.files("variants.recipes").joinpath("usual.toml").read_text(encoding="utf-8")
    known = json.loads(schema_text())["$defs"]["Recipe"]["properties"]
    for name, recipe in tomllib.loads(text)["variants"].items():
        assert set(recipe) <= set(known), name


def test_the_page_shows_real_recipes() -> None:
    """The recipes that docs/recipes.md shows can be read as they stand."""
    page = PATH.with_name("recipes.md").read_text(encoding="utf-8")
    toml = page.split("```toml\n")[1].split("```")[0]
    assert list(parse_recipes(toml)) == ["first-lesson", "twelve-keys"]
