"""Writes a recipe as TOML."""

from __future__ import annotations

import json
import re

from variants.errors import UsageError
from variants.recipes.model import NAME_PATTERN, Recipe


def recipe_toml(name: str, recipe: Recipe) -> str:
    """Return a recipe as a TOML table; only what is not usual is written.

    Raises:
        UsageError: The name is none for a file.

    >>> print(recipe_toml("slow", Recipe(steps=("slow",), staves="tab")), end="")
    [variants.slow]
    steps = ["slow"]
    staves = "tab"
    """
    if not re.match(NAME_PATTERN, name):
        raise UsageError(
            f"{name!r} is no name for a file", way_out="use small letters, digits and hyphens"
        )
    lines = [f"[variants.{name}]"]
    lines += [f"{key} = {_value(value)}" for key, value in recipe.said()]
    return "\n".join(lines) + "\n"


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple):
        return f"[{', '.join(map(_value, value))}]"
    # The strings of JSON are strings of TOML.
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else str(value)
