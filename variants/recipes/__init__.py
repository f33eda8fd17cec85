"""Recipes: named ways to make a variant, in TOML; and the usual set, which comes with neckwise."""

from variants.recipes.command import (
    COMMAND,
    command_line,
    recipe_of_command,
    recipe_of_values,
)
from variants.recipes.model import Recipe, RecipeFile
from variants.recipes.reading import (
    faults_in,
    parse_recipes,
    pick_recipe,
    read_recipes,
    usual_recipes,
)
from variants.recipes.writing import recipe_toml

__all__ = [
    "COMMAND",
    "Recipe",
    "RecipeFile",
    "command_line",
    "faults_in",
    "parse_recipes",
    "pick_recipe",
    "read_recipes",
    "recipe_of_command",
    "recipe_of_values",
    "recipe_toml",
    "usual_recipes",
]
