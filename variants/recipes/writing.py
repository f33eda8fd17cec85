"""Writes a recipe as TOML."""

from __future__ import annotations

import json

from variants.recipes.model import Recipe


def recipe_toml(name: str, recipe: Recipe) -> str:
    """Return a recipe as a TOML table; only what is not usual is written.

    >>> print(recipe_toml("slow", Recipe(steps=("slow",), staves="tab")), end="")
    [variants.slow]
    steps = ["slow"]
    staves = "tab"
    """
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
