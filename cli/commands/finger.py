"""`neckwise finger`: fingering alone."""

from __future__ import annotations

from .. import options
from ..fingerings import write_alternatives
from ..variant_call import Call
from ..write_variants import carry_out


def finger(
    file: options.SourceFile,
    out: options.OutFile,
    staves: options.Staves = options.StavesWish.both,
    mark: options.Marks = None,
    tuning: options.TuningName = "",
    capo: options.Capo = None,
    frets: options.Frets = None,
    scale: options.Scale = "",
    part: options.PartName = "",
    reading: options.Reading = options.ReadingWish.auto,
    keep_fingering: options.KeepFingering = False,
    hand: options.Hand = options.HandSize.medium,
    open_strings: options.OpenStrings = options.OpenStringsWish.usual,
    position: options.Position = None,
    alternatives: options.Alternatives = 1,
    json: options.Json = False,
    quiet: options.Quiet = False,
    explain: options.Explain = False,
    force: options.Force = False,
) -> None:
    """Find strings, frets and fingers for a piece, and change nothing else."""
    call = Call(
        file=file,
        out=out,
        staves=staves,
        marks=tuple(mark or ()),
        places=True,
        tuning=tuning,
        capo=capo,
        frets=frets,
        scale=scale,
        part=part,
        reading=reading,
        keep_fingering=keep_fingering,
        hand=hand,
        open_strings=open_strings,
        position=position,
        force=force,
        is_json=json,
        is_quiet=quiet,
        explains=explain,
    )
    if alternatives == 1:
        carry_out(call)
    else:
        write_alternatives(call, alternatives)
