"""`neckwise pin`: edits by hand in a written variant become pins."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from .. import options
from ..text import count, show, show_json, wrapped

if TYPE_CHECKING:
    from variants.songset.edits import TakenOver

Edited = Annotated[
    str, typer.Argument(metavar="EDITED.musicxml", help="A written variant with edits by hand.")
]
SetFile = Annotated[
    str,
    typer.Option(
        "--set",
        metavar="SET.toml",
        help="The song set that made it; the pins then go beside the source of the song.",
    ),
]
Out = Annotated[
    str | None,
    typer.Option(
        "-o",
        "--out",
        metavar="PINS.toml",
        callback=options.named,
        help="The file of pins. [default: EDITED.pins.toml beside the variant]",
    ),
]


def pin(
    *,
    edited: Edited,
    song_set: SetFile = "",
    out: Out = None,
    json: options.Json = False,
) -> None:
    """Take strings, frets and fingers that were changed by hand over as pins.

    A pin holds whenever the variant is made again, wherever its notes are then. With a song set
    the next build writes the edited file anew, with all that was corrected.
    """
    from variants.errors import NeckwiseError, UsageError
    from variants.songset.edits import pin_file, pin_output
    from variants.songset.opening import open_set

    if song_set and out:
        raise UsageError("the pins of a set go beside the source", way_out="leave -o or --set out")
    try:
        if song_set:
            taken = pin_output(open_set(song_set), Path(edited))
        else:
            taken = pin_file(Path(edited), Path(out) if out else None)
    except NeckwiseError as error:
        raise (error if error.place.startswith(edited) else error.at(edited)) from None
    if json:
        show_json(_values(edited, taken))
    else:
        show(_lines(edited, taken, in_set=bool(song_set)))


def _values(edited: str, taken: TakenOver) -> dict[str, object]:
    pins = [one.model_dump(mode="json", by_alias=True, exclude_defaults=True) for one in taken.pins]
    return {
        "edited": edited,
        "pins": pins,
        "file": str(taken.path) if taken.pins else None,
        "left-alone": taken.left_alone,
    }


def _lines(edited: str, taken: TakenOver, *, in_set: bool) -> list[str]:
    if not taken.pins:
        return [f"{edited}: no string, fret or finger was changed"]
    lines = [f"{edited}: {count(len(taken.pins), 'pin')} in {taken.path}"]
    lines += [f"  measure {one.measure}, beat {one.beat}: {one.words()}" for one in taken.pins]
    if in_set and not taken.left_alone:
        lines += wrapped("The next build writes this file anew, with what is pinned.")
    elif in_set:
        lines += wrapped(
            f"A build leaves this file alone, since {taken.left_alone}; build --force writes it "
            "anew, with what is pinned."
        )
    return lines
