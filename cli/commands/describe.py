"""`neckwise describe`: what a piece is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .. import options
from ..limits import in_time
from ..on_each_file import failed_json, on_each, show_summary
from ..source import load_score, shown, sources
from ..text import show, show_json

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
    file: options.SourceFiles,
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
    """Say what a piece is: key, range, chords, rhythm, and where it can be played on the neck.

    With several files an error in one does not stop the rest, and the exit code is 1 then.
    """
    asked = _Asked(
        part, tuning, capo, reading.value, levels, teaches, tuple(after or ()), against, hand.value
    )
    files = sources(file)
    if len(files) == 1:
        with in_time(shown(files[0])):
            _show(_described(files[0], asked, as_json=json))
        return
    _check_call(asked)
    outcome = on_each(files, lambda name: _described(name, asked, as_json=json))
    if json:
        show_json({"files": [one for _, one in outcome.done], "failed": failed_json(outcome)})
    else:
        for _, one in outcome.done:
            _show(one)
            show([""])
        show_summary(outcome, "described")
    if outcome.failed:
        raise typer.Exit(outcome.exit_code)


@dataclass(frozen=True, slots=True)
class _Asked:
    """What a call asks of each of its files."""

    part: str
    tuning: str
    capo: int | None
    reading: str
    levels: bool
    teaches: bool
    after: tuple[str, ...]
    against: str
    hand: str


def _check_call(asked: _Asked) -> None:
    """Find what is wrong with the call before any file is read."""
    from variants.guitar import parse_tuning
    from variants.levels import load_level

    if asked.tuning:
        parse_tuning(asked.tuning)
    if asked.against:
        load_level(asked.against)


def _described(file: str, asked: _Asked, *, as_json: bool) -> list[str] | dict[str, Any]:
    """Return what is said of a file: lines for people, or values for JSON."""
    from variants.errors import NeckwiseError
    from variants.prepare import Strings, pick_part, prepare
    from variants.score import with_parts

    from ..describe_json import score_json
    from ..describe_levels import Answer, Asked, answer, answer_json, answer_lines
    from ..describe_text import score_lines

    raw = load_score(file)
    try:
        # The wish of `vary` is not needed here: every part can be described.
        wanted = pick_part(raw, asked.part) if asked.part else ""
        chosen = [one for one in raw.parts if one.id == wanted] if wanted else raw.parts
        strings = Strings(tuning=asked.tuning, capo=asked.capo, keep_places=True)
        score = prepare(with_parts(raw, chosen), asked.reading, strings)
    except NeckwiseError as error:
        raise error.at(shown(file)) from None
    wish = Asked(asked.levels, asked.teaches, asked.after, asked.against, asked.hand)
    told = Answer()
    if asked.levels or asked.teaches or asked.after or asked.against:
        told = answer(
            file, wish, part=asked.part, tuning=asked.tuning, capo=asked.capo, reading=asked.reading
        )
    if as_json:
        return {**score_json(score, source=shown(file)), **answer_json(told)}
    parts = _in_detail(score, is_asked=bool(asked.part))
    return [*score_lines(score, source=shown(file), parts=parts), *answer_lines(told)]


def _show(described: list[str] | dict[str, Any]) -> None:
    if isinstance(described, dict):
        show_json(described)
    else:
        show(described)


def _in_detail(score: Score, *, is_asked: bool) -> list[Part]:
    """Return the parts to describe in full: those asked for, else those for guitar, or a few."""
    if is_asked or len(score.parts) == 1:
        return list(score.parts)
    return [part for part in score.parts if part.instrument is not None]
