"""Options that several commands share, each declared once: its name, its help, its default.

A command takes a whole group of them as one parameter, a dataclass such as `Player`; `spread` shows
the fields of the group as options of the command.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, is_dataclass
from enum import StrEnum
from functools import wraps
from typing import TYPE_CHECKING, Annotated, Any, get_type_hints

import typer

if TYPE_CHECKING:
    from variants.variant import Wishes


class StavesWish(StrEnum):
    """Staves of a part that is for guitar."""

    notation = "notation"
    tab = "tab"
    both = "both"


class ReadingWish(StrEnum):
    """How a plain treble clef sounds."""

    auto = "auto"
    guitar = "guitar"
    concert = "concert"


class FingeringOfFile(StrEnum):
    """What of the fingering of the file holds."""

    keep = "keep"
    fill = "fill"
    new = "new"


class OpenStringsWish(StrEnum):
    """Liking for open strings."""

    usual = "usual"
    prefer = "prefer"
    avoid = "avoid"
    allow = "allow"


class ConventionWish(StrEnum):
    """Which finger takes fret 3 in the first position."""

    own_fret = "own-fret"
    classical = "classical"
    one_two_four = "one-two-four"


class DyadsWish(StrEnum):
    """How two notes at one fret of neighbouring strings are held."""

    either = "either"
    one_finger = "one-finger"
    two = "two"


class HoldChordsWish(StrEnum):
    """Whether broken chords are held as grips."""

    usual = "usual"
    always = "always"
    never = "never"


def named(value: str | None) -> str | None:
    """Return a name that a call gives; an empty one, as a script's unset variable leaves, is none.

    Raises:
        BadParameter: It is empty.
    """
    if value is not None and not value.strip():
        raise typer.BadParameter("the name is empty")
    return value


_NOTATIONS = "MusicXML (.musicxml, .xml, .mxl), ABC, kern, MIDI or MEI"
SourceFile = Annotated[
    str,
    typer.Argument(
        metavar="FILE", help=f"{_NOTATIONS}, or - for standard input; tunes.abc#3 is one tune."
    ),
]
SourceFiles = Annotated[
    list[str],
    typer.Argument(
        metavar="FILE...",
        help=f"{_NOTATIONS}, or - for standard input; tunes.abc#3 is one tune. Several files and "
        "patterns ('*.xml') may be given.",
    ),
]
OutFile = Annotated[
    str,
    typer.Option(
        "-o",
        "--out",
        metavar="OUT",
        callback=named,
        help="Where to write: .musicxml or .xml, .mxl for compressed, - for standard output; a "
        "folder for several files.",
    ),
]
Steps = Annotated[
    list[str] | None,
    typer.Option(
        "-s",
        "--step",
        metavar="STEP",
        help="A step, as in transpose:interval=m3; again for the next one. "
        "`neckwise list steps` shows them.",
    ),
]
RecipeFile = Annotated[
    str,
    typer.Option(
        "--recipe",
        metavar="RECIPES.toml",
        help="A file of recipes. [default: the usual set, see `neckwise list recipes`]",
    ),
]
VariantName = Annotated[
    str, typer.Option("--variant", metavar="NAME", help="Make the variant of this name.")
]
AsRecipe = Annotated[
    str,
    typer.Option(
        "--as-recipe", metavar="NAME", help="Print this call as a recipe; nothing is made."
    ),
]
Staves = Annotated[
    StavesWish, typer.Option("--staves", help="Staves of a part that is for guitar.")
]
Marks = Annotated[
    list[str] | None,
    typer.Option(
        "--mark",
        metavar="MARKS",
        help="What is printed beside the notes, as in fingering,counting; none for nothing (tab "
        "keeps its frets). `neckwise list marks` shows them.  [default: fingering,positions]",
    ),
]
Places = Annotated[
    bool,
    typer.Option("--places", help="Write string and fret on a notation staff that stands alone."),
]
TuningName = Annotated[
    str,
    typer.Option(
        "--tuning",
        metavar="NAME",
        help="A tuning by name or by its notes, as in drop-d or D2-A2-D3-G3-B3-E4. "
        "[default: the file's, or standard]",
    ),
]
Capo = Annotated[
    int | None,
    typer.Option(
        "--capo", metavar="N", help="Fret of the capo; frets then count from it. The sound stays."
    ),
]
Frets = Annotated[
    int | None,
    typer.Option("--frets", metavar="N", help="Number of frets, if it is not the usual one."),
]
Scale = Annotated[
    str,
    typer.Option(
        "--scale",
        "--scale-length",
        metavar="LENGTH",
        help="Length of the open string in mm, or a size such as 3/4 or 1/2, for stretches. "
        "[default: that of the kind of instrument]",
    ),
]
PartName = Annotated[
    str,
    typer.Option(
        "--part",
        metavar="PART",
        help="Id or name of a part, or all. [default: the only one that is for guitar]",
    ),
]
Reading = Annotated[
    ReadingWish,
    typer.Option(
        "--reading",
        help="How a plain treble clef sounds where the file does not say: guitar, an octave "
        "lower; concert, as written.",
    ),
]
Fingering = Annotated[
    FingeringOfFile,
    typer.Option(
        "--fingering",
        help="Strings, frets and fingers of the file: keep all that a step leaves possible, fill "
        "in all but what is pinned, or all new.",
    ),
]
PinsFile = Annotated[
    str,
    typer.Option(
        "--pins",
        metavar="PINS.toml",
        help="A file of pins: places, fingers, positions that hold; see docs/pins.md.",
    ),
]
Hand = Annotated[
    str,
    typer.Option(
        "--hand",
        metavar="small|medium|large|MM",
        help="Size of the fretting hand, or its reach from first to fourth finger at fret 1 in mm.",
    ),
]
Fingers = Annotated[
    str,
    typer.Option(
        "--fingers", metavar="LIST", help="The fretting fingers of the hand; no other is used."
    ),
]
Thumb = Annotated[
    bool, typer.Option("--thumb", help="Let the thumb stop the lowest string, over the neck.")
]
Convention = Annotated[
    ConventionWish,
    typer.Option(
        "--convention",
        help="Which finger takes fret 3 in the first position: the third, or the fourth as in "
        "many classical methods; one-two-four is the bassist's hand below fret 5.",
    ),
]
Dyads = Annotated[
    DyadsWish,
    typer.Option(
        "--dyads",
        help="How two notes at one fret of neighbouring strings are held: teachers differ.",
    ),
]
HoldChords = Annotated[
    HoldChordsWish,
    typer.Option(
        "--hold-chords",
        help="Hold the notes of a broken chord together while it stands for a measure; usual does "
        "so with the usual open strings.",
    ),
]
OpenStrings = Annotated[
    OpenStringsWish,
    typer.Option(
        "--open-strings",
        help="Liking for open strings; usual prefers them, but not in a position that is named.",
    ),
]
Position = Annotated[
    int | None,
    typer.Option(
        "--position",
        metavar="N",
        min=1,
        max=24,
        help="Fret where the first finger should stand, where it can.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print the report as JSON.")]
Quiet = Annotated[bool, typer.Option("--quiet", "-q", help="Print nothing but errors.")]
Explain = Annotated[
    bool,
    typer.Option(
        "--explain", help="List every change, every promise, and the hand at each moment."
    ),
]
Force = Annotated[
    bool, typer.Option("--force", help="Overwrite a file that neckwise did not write.")
]
Alternatives = Annotated[
    int,
    typer.Option(
        "--alternatives",
        metavar="K",
        min=1,
        max=50,
        help="Write the K best fingerings: OUT, then OUT with -2, -3 and so on in its name.",
    ),
]
OutFolder = Annotated[
    str | None,
    typer.Option(
        "-o",
        "--out",
        metavar="FOLDER",
        callback=named,
        help="Write each way as a score into this folder.",
    ),
]
Most = Annotated[
    int, typer.Option("--most", metavar="N", min=1, help="Show and write at most so many.")
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Player:
    """How a piece is played and printed: what every command that makes a score asks."""

    staves: Staves = StavesWish.both
    mark: Marks = None
    places: Places = False
    tuning: TuningName = ""
    capo: Capo = None
    frets: Frets = None
    scale: Scale = ""
    part: PartName = ""
    reading: Reading = ReadingWish.auto
    fingering: Fingering = FingeringOfFile.keep
    pins: PinsFile = ""
    hand: Hand = "medium"
    fingers: Fingers = "1,2,3,4"
    thumb: Thumb = False
    open_strings: OpenStrings = OpenStringsWish.usual
    convention: Convention = ConventionWish.own_fret
    dyads: Dyads = DyadsWish.either
    hold_chords: HoldChords = HoldChordsWish.usual
    position: Position = None

    def wishes(self) -> Wishes:
        """Return what the library is asked for.

        Raises:
            UsageError: A name that it does not know.
        """
        from variants import front_door

        asked = {one.name: getattr(self, one.name) for one in fields(self)}
        return front_door.wishes(marks=tuple(asked.pop("mark") or ()), **asked)


@dataclass(frozen=True, slots=True, kw_only=True)
class Telling:
    """What is said of a call, and whether it may write over what is there."""

    json: Json = False
    quiet: Quiet = False
    explain: Explain = False
    force: Force = False


def spread(**chosen: Sequence[str]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Return a decorator that shows the groups of options of a command as single options.

    Args:
        chosen: For a parameter that is a group, the fields that this command has, if not all.
    """

    def around(command: Callable[..., None]) -> Callable[..., None]:
        groups: dict[str, tuple[Callable[..., object], list[str]]] = {}
        shown: list[inspect.Parameter] = []
        hints = get_type_hints(command, include_extras=True)
        for name, own in inspect.signature(command).parameters.items():
            if not is_dataclass(hints[name]):
                shown.append(own.replace(annotation=hints[name]))
                continue
            found = [one for one in fields(hints[name]) if one.name in chosen.get(name, [one.name])]
            groups[name] = (hints[name], [one.name for one in found])
            kinds = get_type_hints(hints[name], include_extras=True)
            shown += [
                own.replace(name=one.name, default=one.default, annotation=kinds[one.name])
                for one in found
            ]

        @wraps(command)
        def run(**values: Any) -> None:  # noqa: ANN401 - as the options are typed
            for name, (make, members) in groups.items():
                values[name] = make(**{member: values.pop(member) for member in members})
            command(**values)

        run.__signature__ = inspect.Signature(shown)  # type: ignore[attr-defined]
        run.__annotations__ = {one.name: one.annotation for one in shown}
        return run

    return around


def given(context: typer.Context) -> frozenset[str]:
    """Return the names of the parameters that the call itself gives."""
    return frozenset(
        name
        for name in context.params
        if getattr(context.get_parameter_source(name), "name", "") == "COMMANDLINE"
    )
