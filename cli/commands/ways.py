"""`neckwise ways`: every really different way to play a piece on the neck."""

from __future__ import annotations

from .. import options
from ..fingerings import write_ways
from ..variant_call import Call


def ways(
    file: options.SourceFile,
    out: options.OutFolder = None,
    most: options.Most = 12,
    staves: options.Staves = options.StavesWish.both,
    mark: options.Marks = None,
    tuning: options.TuningName = "",
    capo: options.Capo = None,
    frets: options.Frets = None,
    scale: options.Scale = "",
    part: options.PartName = "",
    reading: options.Reading = options.ReadingWish.auto,
    hand: options.Hand = options.HandSize.medium,
    json: options.Json = False,
    force: options.Force = False,
) -> None:
    """Show every really different way to play a piece: position, strings, open strings or none.

    The ways are ranked, each with the stretch and travel of the hand in millimetres.
    """
    call = Call(
        file=file,
        out=out or "",
        staves=staves,
        marks=tuple(mark or ()),
        places=True,
        tuning=tuning,
        capo=capo,
        frets=frets,
        scale=scale,
        part=part,
        reading=reading,
        hand=hand,
        force=force,
        is_json=json,
    )
    write_ways(call, most=most)
