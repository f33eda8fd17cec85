"""`neckwise vary`: run steps, prove, finger, write."""

from __future__ import annotations

from cli import options
from cli.making import Call, carry_out


def vary(
    file: options.SourceFile,
    out: options.OutFile,
    step: options.Steps = None,
    staves: options.Staves = options.StavesWish.both,
    mark: options.Marks = None,
    places: options.Places = False,
    tuning: options.TuningName = "",
    capo: options.Capo = None,
    frets: options.Frets = None,
    scale: options.Scale = "",
    part: options.PartName = "",
    reading: options.Reading = options.ReadingWish.auto,
    keep_fingering: options.KeepFingering = False,
    hand: options.Hand = options.HandSize.medium,
    open_strings: options.OpenStrings = options.OpenStringsWish.allow,
    position: options.Position = None,
    json: options.Json = False,
    quiet: options.Quiet = False,
    explain: options.Explain = False,
    force: options.Force = False,
) -> None:
    """Run steps on a piece, prove each of them, finger the result and write it.

    Without a step the piece is fingered and written as it is.
    """
    carry_out(
        Call(
            file=file,
            out=out,
            steps=tuple(step or ()),
            staves=staves,
            marks=tuple(mark or ()),
            places=places,
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
    )
