"""`neckwise finger`: fingering alone."""

from __future__ import annotations

from dataclasses import replace

from .. import options
from ..fingerings import write_alternatives
from ..variant_call import VariantCall
from ..write_variants import carry_out

# Places are what is asked for, whatever staves there are.
_OPTIONS = [name for name in options.Player.__slots__ if name != "places"]


@options.spread(player=_OPTIONS)
def finger(
    *,
    file: options.SourceFile,
    out: options.OutFile,
    player: options.Player,
    alternatives: options.Alternatives = 1,
    telling: options.Telling,
) -> None:
    """Find strings, frets and fingers for a piece, and change nothing else."""
    call = VariantCall(file=file, out=out, player=replace(player, places=True), telling=telling)
    if alternatives == 1:
        carry_out(call)
    else:
        write_alternatives(call, alternatives)
