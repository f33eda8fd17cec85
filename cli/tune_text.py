"""The tune of a part and its phrases: how a call names them, and what is said of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .text import table

if TYPE_CHECKING:
    from variants.score import Part, Score
    from variants.score.timeline import Take
    from variants.tune.line import Tune
    from variants.tune.phrases import Phrase

TuneName = Annotated[
    str,
    typer.Option(
        "--tune",
        metavar="LINE",
        help='Which line is the tune: top, bottom, roots (of a riff), or "voice N". '
        "[default: what is found]",
    ),
]
PhraseStarts = Annotated[
    str,
    typer.Option(
        "--phrases",
        metavar="N,N,...",
        help="Measures in which phrases begin, as in 1,5,9. [default: what is found]",
    ),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class TuneWish:
    """What a call says of the tune."""

    tune: TuneName = ""
    phrases: PhraseStarts = ""

    @property
    def line(self) -> str:
        """The line as the library takes it."""
        return self.tune.strip() or "auto"

    @property
    def starts(self) -> tuple[str, ...]:
        """Printed numbers of the measures in which phrases begin."""
        return tuple(one.strip() for one in self.phrases.split(",") if one.strip())


def _found(score: Score, part: Part, asked: TuneWish) -> tuple[Tune, tuple[Phrase, ...]]:
    from variants.tune.line import tune_of
    from variants.tune.phrases import phrases_of

    tune = tune_of(part, wish=asked.line)
    return tune, phrases_of(score, part, tune, starts=asked.starts)


_LINES = {
    "top": "the top line",
    "bottom": "the bottom line",
    "roots": "the roots of the chords",
    "words": "the line with the words",
}


def tune_words(tune: Tune) -> str:
    """Return which line a tune is, and why."""
    line = _LINES.get(tune.kind, tune.kind)
    if tune.reason == "as you said":
        return f"{line}, as you say"
    return line if tune.kind in {"top", "roots", "words"} else f"{line}, since {tune.reason}"


def tune_lines(score: Score, part: Part, asked: TuneWish) -> list[str]:
    """Return the tune and the phrases of a part for the terminal; nothing without notes.

    Raises:
        UsageError: The part has no such line, or no note of it in a measure that is named.
    """
    tune, phrases = _found(score, part, asked)
    if not tune.notes:
        return []
    rows = [
        (
            str(number),
            _place(score, part, tune.notes[phrase.first]),
            _place(score, part, tune.notes[phrase.last]),
            ", ".join(phrase.reasons) or "the end",
        )
        for number, phrase in enumerate(phrases, 1)
    ]
    heads = ("phrase", "first note", "last note", "parted by")
    head = f"  The tune: {tune_words(tune)}"
    return ["", head, *table(heads, rows, indent=4)]


def tune_json(score: Score, part: Part, asked: TuneWish) -> dict[str, Any]:
    """Return the tune and the phrases of a part as JSON values.

    Raises:
        UsageError: The part has no such line, or no note of it in a measure that is named.
    """
    tune, phrases = _found(score, part, asked)
    return {
        "tune": {"line": tune.kind, "reason": tune.reason, "notes": len(tune.notes)},
        "phrases": [
            {
                "begin": _place_json(score, part, tune.notes[phrase.first]),
                "end": _place_json(score, part, tune.notes[phrase.last]),
                "parted_by": list(phrase.reasons),
            }
            for phrase in phrases
        ],
    }


def _place_json(score: Score, part: Part, note: Take) -> dict[str, str]:
    from variants.score import measures

    view = measures(part, score.ticks)[note.measure]
    return {"measure": view.measure.number, "beat": view.beat_text(note.tick)}


def _place(score: Score, part: Part, note: Take) -> str:
    place = _place_json(score, part, note)
    return f"measure {place['measure']}, beat {place['beat']}"
