"""`neckwise ways`: every really different way to play a piece on the neck."""

from __future__ import annotations

from dataclasses import replace

from .. import options
from ..fingerings import write_ways
from ..variant_call import VariantCall

# All others are what is looked for.
_OPTIONS = ("staves", "mark", "tuning", "capo", "frets", "scale", "part", "reading", "hand")


@options.spread(player=_OPTIONS, telling=("json", "force"))
def ways(
    *,
    file: options.SourceFile,
    out: options.OutFolder = None,
    most: options.Most = 12,
    player: options.Player,
    telling: options.Telling,
) -> None:
    """Show every really different way to play a piece: position, strings, open strings or none.

    The ways are ranked, each with the stretch and travel of the hand in millimetres.
    """
    player = replace(player, places=True)
    write_ways(VariantCall(file=file, out=out or "", player=player, telling=telling), most=most)
