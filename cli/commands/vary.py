"""`neckwise vary`: run steps, prove, finger, write."""

from __future__ import annotations

import typer

from .. import options
from ..recipes import show_recipe, with_recipe
from ..source import sources
from ..variant_call import VariantCall
from ..vary_files import vary_all
from ..write_variants import carry_out


@options.spread()
def vary(
    *,
    context: typer.Context,
    file: options.SourceFiles,
    out: options.OutFile,
    step: options.Steps = None,
    recipe: options.RecipeFile = "",
    variant: options.VariantName = "",
    as_recipe: options.AsRecipe = "",
    player: options.Player,
    telling: options.Telling,
) -> None:
    """Run steps on a piece, prove each of them, finger the result and write it.

    Without a step the piece is fingered and written as it is. A recipe gives steps and options;
    further steps follow its own, and an option that is given here goes before it. A step that
    makes several variants (all-keys, all-strings) wants a folder for OUT, and so do several files:
    an error in one of them does not stop the rest, and the exit code is 1 then.
    """
    files = sources(file)
    steps = tuple(step or ())
    call = VariantCall(file=files[0], out=out, steps=steps, player=player, telling=telling)
    if recipe or variant:
        call = with_recipe(call, recipe, variant, given=options.given(context))
    if as_recipe:
        show_recipe(call, as_recipe)
        return
    if len(files) == 1:
        carry_out(call)
    else:
        vary_all(call, files)
