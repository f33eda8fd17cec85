"""Recipes on the command line: how one fills in a call, and what `list recipes` shows."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import typer

from .options import (
    ConventionWish,
    DyadsWish,
    FingeringOfFile,
    HoldChordsWish,
    OpenStringsWish,
    StavesWish,
)
from .text import wrapped
from .variant_call import VariantCall

if TYPE_CHECKING:
    from variants.recipes import Recipe

_WISHES = {
    "staves": StavesWish,
    "fingering": FingeringOfFile,
    "open_strings": OpenStringsWish,
    "convention": ConventionWish,
    "dyads": DyadsWish,
    "hold_chords": HoldChordsWish,
}
_ALIKE = (
    "places",
    "tuning",
    "capo",
    "frets",
    "scale",
    "hand",
    "fingers",
    "thumb",
    "position",
)


def with_recipe(call: VariantCall, file: str, name: str, *, given: AbstractSet[str]) -> VariantCall:
    """Return a call with what a recipe says; what the call itself gives goes first.

    Args:
        call: The call.
        file: File of recipes; empty for the usual set.
        name: Name of the variant; empty for the only one.
        given: Names of the parameters that the user gave.

    Raises:
        NeckwiseError: The file is wrong, or there is no such variant.
    """
    from variants.recipes import pick_recipe, read_recipes, usual_recipes

    recipe = pick_recipe(read_recipes(file) if file else usual_recipes(), name)
    filled: dict[str, Any] = {} if "mark" in given else {"mark": list(recipe.marks)}
    for member, wish in _WISHES.items():
        if member not in given:
            filled[member] = wish(getattr(recipe, member))
    filled |= {member: getattr(recipe, member) for member in _ALIKE if member not in given}
    steps = (*recipe.steps, *call.steps)
    player = replace(call.player, **filled)
    return replace(call, steps=steps, player=player, version=name)


def show_recipe(call: VariantCall, name: str) -> None:
    """Print a call as a recipe in TOML.

    Raises:
        NeckwiseError: The name is none for a file, or the call says what no recipe can say.
    """
    from variants.recipes import recipe_of_values, recipe_toml

    values: dict[str, object] = {member: getattr(call.player, member) for member in _ALIKE}
    values |= {member: getattr(call.player, member).value for member in _WISHES}
    values["steps"] = tuple(call.steps)
    if call.player.mark:
        values["marks"] = tuple(call.player.mark)
    typer.echo(recipe_toml(name, recipe_of_values(values)), nl=False)


def recipe_list() -> tuple[list[dict[str, Any]], list[str]]:
    """Return the usual recipes as values and as lines, each with the call that does the same."""
    from variants.recipes import usual_recipes

    recipes = usual_recipes()
    lines = wrapped(
        "Made with neckwise vary FILE --variant NAME -o OUT. A file of your own is named with "
        "--recipe; docs/recipes.schema.json tells an editor what can stand in it."
    )
    for name, recipe in recipes.items():
        lines += ["", name, *wrapped(recipe.title, first="  ", other="  ")]
        lines += wrapped(_command(name, recipe), first="  ", other="    ")
    return [_recipe_json(name, recipe) for name, recipe in recipes.items()], lines


def _command(name: str, recipe: Recipe) -> str:
    from variants.recipes import command_line

    return command_line(recipe, out=name if _is_folder(recipe) else f"{name}.musicxml")


def _is_folder(recipe: Recipe) -> bool:
    from variants.family import has_family

    return has_family(recipe.items)


def _recipe_json(name: str, recipe: Recipe) -> dict[str, Any]:
    return {
        "name": name,
        **recipe.model_dump(by_alias=True, mode="json"),
        "command": _command(name, recipe),
    }
