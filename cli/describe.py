"""`neckwise describe`: what a piece is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cli import options
from cli.source import load_score, shown

if TYPE_CHECKING:
    from variants.score import Part, Score


def describe(
    file: options.SourceFile,
    part: options.PartName = "",
    tuning: options.TuningName = "",
    capo: options.Capo = None,
    reading: options.Reading = options.ReadingWish.auto,
    json: options.Json = False,
) -> None:
    """Say what a piece is: key, range, chords, rhythm, and where it can be played on the neck."""
    from cli.describing import score_lines
    from cli.describing_json import score_json
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
    if json:
        show_json(score_json(score, source=shown(file)))
        return
    show(score_lines(score, source=shown(file), parts=_in_detail(score, is_asked=bool(part))))


def _in_detail(score: Score, *, is_asked: bool) -> list[Part]:
    """Return the parts to describe in full: those asked for, else those for guitar, or a few."""
    if is_asked or len(score.parts) == 1:
        return list(score.parts)
    return [part for part in score.parts if part.instrument is not None]
