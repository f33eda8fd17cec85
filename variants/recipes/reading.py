"""Reads files of recipes; every fault with its line."""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from variants.errors import NeckwiseError, UsageError
from variants.recipes.model import Recipe, RecipeFile
from variants.toml_file import TomlLines, parse_toml, read_text

_USUAL = "usual.toml"
_WORDS = {
    "extra_forbidden": "there is no such setting",
    "missing": "is missing",
    "string_pattern_mismatch": "is no name for a file",
}


def read_recipes(path: str | Path) -> Mapping[str, Recipe]:
    """Return the recipes of a TOML file, in its order.

    Raises:
        InputError: The file cannot be read.
        UsageError: It has a fault; the first one, with its line, and how many more there are.
    """
    return parse_recipes(read_text(path), name=str(path))


def parse_recipes(text: str, *, name: str = "recipes") -> Mapping[str, Recipe]:
    """Return the recipes of a TOML text, in its order.

    Args:
        text: The TOML.
        name: What to call it in errors.

    Raises:
        UsageError: It has a fault; the first one, with its line, and how many more there are.
    """
    found, faults = _read(text, name)
    if found is None:
        first = faults[0]
        if len(faults) > 1:
            more = f"{len(faults) - 1} more fault{'s' * (len(faults) > 2)} in this file"
            way_out = f"{first.way_out} ({more})" if first.way_out else more
            raise UsageError(first.cause, place=first.place, way_out=way_out)
        raise first
    return found.variants


def faults_in(text: str, *, name: str = "recipes") -> list[NeckwiseError]:
    """Return all that is wrong with a TOML text of recipes, one line each, in its order."""
    return list(_read(text, name)[1])


def _read(text: str, name: str) -> tuple[RecipeFile | None, list[NeckwiseError]]:
    try:
        values = parse_toml(text, name)
    except UsageError as error:
        return None, [error]
    try:
        return RecipeFile.model_validate(values), []
    except ValidationError as error:
        lines = TomlLines(text)
        faults = [_fault(lines, name, one) for one in error.errors(include_url=False)]
        return None, [fault for _, fault in sorted(faults, key=lambda one: one[0])]


def _fault(lines: TomlLines, name: str, error: Any) -> tuple[int, NeckwiseError]:  # noqa: ANN401
    path = tuple(one for one in error["loc"] if one != "[key]")
    line = lines.at(path)
    cause, _, way_out = _cause(error).partition("; ")
    shown = _shown(path)
    if error["type"] == "extra_forbidden" and len(path) == 3:
        known = [one.replace("_", "-") for one in Recipe.model_fields]
        near = difflib.get_close_matches(str(path[2]), known, n=1)
        way_out = f"did you mean {near[0]}?" if near else f"a variant has {', '.join(known)}"
    if error["type"] in {"extra_forbidden", "missing"} and len(path) == 1:
        cause, way_out = _no_table(error["type"]), "write [variants.NAME] above each recipe"
    return line, UsageError(
        f"{shown}: {cause}" if shown else cause,
        place=f"{name}, line {line}",
        way_out=way_out or "see docs/recipes.schema.json for what it takes",
    )


def _no_table(kind: str) -> str:
    return "there are no variants" if kind == "missing" else "only variants can stand here"


def _cause(error: Any) -> str:  # noqa: ANN401 -- pydantic's own shape
    if error["type"] == "value_error":
        return str(error["ctx"]["error"])
    if error["type"] == "literal_error":
        return f"{error['input']!r} is not allowed; use {error['ctx']['expected']}"
    known = _WORDS.get(error["type"])
    if known:
        return known
    message = str(error["msg"]).removesuffix(".")
    return message[:1].lower() + message[1:]


def _shown(path: tuple[str | int, ...]) -> str:
    words = [f"variant {path[1]}"] if len(path) > 1 else []
    if len(path) > 2:
        words.append(str(path[2]))
    if len(path) > 3 and isinstance(path[3], int):
        words.append(f"number {path[3] + 1}")
    return ", ".join(words)


@lru_cache(maxsize=1)
def usual_recipes() -> Mapping[str, Recipe]:
    """Return the recipes that come with neckwise, in the order of their file."""
    text = resources.files("variants.recipes").joinpath(_USUAL).read_text(encoding="utf-8")
    return parse_recipes(text, name=_USUAL)


def pick_recipe(recipes: Mapping[str, Recipe], name: str) -> Recipe:
    """Return a recipe by name; without a name the only one.

    Raises:
        UsageError: There is no such recipe, or several could be meant.
    """
    if not name and len(recipes) == 1:
        return next(iter(recipes.values()))
    listed = ", ".join(recipes)
    if not name:
        raise UsageError(
            f"there are {len(recipes)} variants to choose from",
            way_out=f"name one with --variant: {listed}",
        )
    found = recipes.get(name)
    if found is None:
        near = difflib.get_close_matches(name, recipes, n=1)
        hint = f"did you mean {near[0]}? " if near else ""
        raise UsageError(f"there is no variant {name!r}", way_out=f"{hint}there are {listed}")
    return found
