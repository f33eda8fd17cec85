"""`neckwise describe`: what a piece is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer

from .. import options
from ..describe_levels import LevelQuestions, answer, answer_json, answer_lines
from ..limits import in_time
from ..on_each_file import failed_json, on_each, show_summary
from ..source import load_score, shown, sources
from ..text import show, show_json
from ..tune_text import TuneWish

if TYPE_CHECKING:
    from variants.score import Part, Score

_OPTIONS = ("part", "tuning", "capo", "reading", "hand")


@options.spread(player=_OPTIONS)
def describe(
    *,
    file: options.SourceFiles,
    player: options.Player,
    tune: TuneWish,
    asked: LevelQuestions,
    json: options.Json = False,
) -> None:
    """Say what a piece is: key, range, chords, rhythm, tune, phrases, and where it can be played.

    With several files an error in one does not stop the rest, and the exit code is 1 then.
    """
    files = sources(file)
    if len(files) == 1:
        with in_time(shown(files[0])):
            _show(_described(files[0], player, tune, asked, as_json=json))
        return
    _check_call(player, asked)
    outcome = on_each(files, lambda name: _described(name, player, tune, asked, as_json=json))
    if json:
        show_json({"files": [one for _, one in outcome.done], "failed": failed_json(outcome)})
    else:
        for _, one in outcome.done:
            _show(one)
            show([""])
        show_summary(outcome, "described")
    if outcome.failed:
        raise typer.Exit(outcome.exit_code)


def _check_call(player: options.Player, asked: LevelQuestions) -> None:
    """Find what is wrong with the call before any file is read."""
    from variants.guitar import parse_tuning
    from variants.levels import load_level

    if player.tuning:
        parse_tuning(player.tuning)
    if asked.against:
        load_level(asked.against)


def _described(
    file: str, player: options.Player, tune: TuneWish, asked: LevelQuestions, *, as_json: bool
) -> list[str] | dict[str, Any]:
    """Return what is said of a file: lines for people, or values for JSON."""
    from variants.errors import NeckwiseError
    from variants.prepare import Strings, pick_part, prepare
    from variants.score import with_parts

    from ..describe_json import score_json
    from ..describe_text import score_lines

    raw = load_score(file)
    try:
        # The wish of `vary` is not needed here: every part can be described.
        wanted = pick_part(raw, player.part) if player.part else ""
        chosen = [one for one in raw.parts if one.id == wanted] if wanted else raw.parts
        strings = Strings(tuning=player.tuning, capo=player.capo, keep_places=True)
        score = prepare(with_parts(raw, chosen), player.reading, strings)
    except NeckwiseError as error:
        raise error.at(shown(file)) from None
    told = answer(file, asked, player)
    if as_json:
        return {**score_json(score, source=shown(file), tune=tune), **answer_json(told)}
    parts = _in_detail(score, is_asked=bool(player.part))
    lines = score_lines(score, source=shown(file), parts=parts, tune=tune)
    return [*lines, *answer_lines(told)]


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
