"""`neckwise describe`: what a piece is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from cli import options
from cli.source import load_score, shown

if TYPE_CHECKING:
    from variants.score import Part, Score

Levels = Annotated[
    bool,
    typer.Option("--levels", help="Which levels it meets, what keeps it from the others, and why."),
]
Teaches = Annotated[
    bool, typer.Option("--teaches", help="What it practises, in a teacher's words, with measures.")
]
After = Annotated[
    list[str] | None,
    typer.Option(
        "--after", metavar="FILE", help="A piece played before, again for each: tell what is new."
    ),
]
Against = Annotated[
    str,
    typer.Option(
        "--against",
        metavar="LEVEL",
        help="Tell what goes beyond a level, and what of the level it and the pieces before cover.",
    ),
]


def describe(
    file: options.SourceFile,
    part: options.PartName = "",
    tuning: options.TuningName = "",
    capo: options.Capo = None,
    reading: options.Reading = options.ReadingWish.auto,
    levels: Levels = False,
    teaches: Teaches = False,
    after: After = None,
    against: Against = "",
    hand: options.Hand = options.HandSize.medium,
    json: options.Json = False,
) -> None:
    """Say what a piece is: key, range, chords, rhythm, and where it can be played on the neck."""
    from cli.describing import score_lines
    from cli.describing_json import score_json
    from cli.describing_levels import Answer, Asked, answer, answer_json, answer_lines
    from cli.text import show, show_json
    from variants.errors import NeckwiseError
    from variants.prepare import Strings, pick_part, prepare
    from variants.score import with_parts

    raw = load_score(file)
    try:
        # The wish of `vary` is not needed here: every part can be described.
        wanted = pick_part(raw, part) if part else ""
        chosen = [one for one in raw.parts if one.id == wanted] if wanted else raw.parts
        strings = Strings(tuning=tuning, capo=capo, keep_places=True)
        score = prepare(with_parts(raw, chosen), reading.value, strings)
    except NeckwiseError as error:
        raise error.at(shown(file)) from None
    asked = Asked(levels, teaches, tuple(after or ()), against, hand.value)
    told = Answer()
    if levels or teaches or after or against:
        told = answer(file, asked, part=part, tuning=tuning, capo=capo, reading=reading.value)
    if json:
        show_json({**score_json(score, source=shown(file)), **answer_json(told)})
        return
    lines = score_lines(score, source=shown(file), parts=_in_detail(score, is_asked=bool(part)))
    show([*lines, *answer_lines(told)])


def _in_detail(score: Score, *, is_asked: bool) -> list[Part]:
    """Return the parts to describe in full: those asked for, else those for guitar, or a few."""
    if is_asked or len(score.parts) == 1:
        return list(score.parts)
    return [part for part in score.parts if part.instrument is not None]
