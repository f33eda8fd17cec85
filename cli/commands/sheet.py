"""`neckwise sheet`: a handout to print, a page to review the versions, a drawing, the sound."""

from __future__ import annotations

import os
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from variants.files import STANDARD_STREAM, write_file

from .. import options
from ..sheet_outputs import AUDIO, MAKERS, MadeSheet, SheetCall
from ..sound import SoundWishes

# Stands in every file that this command writes, so that it may be written again.
_MARK = b"neckwise"


class SheetStaves(StrEnum):
    """Staves of a part that is for guitar; ``source`` keeps what the file has."""

    source = "source"
    notation = "notation"
    tab = "tab"
    both = "both"


class PaperWish(StrEnum):
    """Papers."""

    a4 = "a4"
    letter = "letter"


class NotesWish(StrEnum):
    """Whom the words on the pages are for."""

    pupil = "pupil"
    teacher = "teacher"


class SizeWish(StrEnum):
    """Sizes of print."""

    normal = "normal"
    large = "large"


Files = Annotated[
    list[str],
    typer.Argument(metavar="FILE...", help="The versions, in the order in which they are given."),
]
Out = Annotated[
    str,
    typer.Option(
        "-o",
        "--out",
        metavar="OUT",
        callback=options.named,
        help="A handout (.pdf, or its pages as .png), or a page to look at and to hear in a "
        "browser (.html); of one version the music as a drawing (.svg) or the sound (.mid, .wav, "
        ".flac, .ogg, .mp3).",
    ),
]
Exercises = Annotated[
    list[str] | None,
    typer.Option(
        "--exercise",
        metavar="NAME",
        help="An exercise made from the first version: fill-tab, fill-notes, name-notes, clap, "
        "counts, find-notes, draw-tab, complete or match; again for the next one.",
    ),
]
Names = Annotated[
    list[str] | None,
    typer.Option(
        "--name",
        metavar="TEXT",
        help="What stands under the title of a version; once for each file, in their order. "
        "[default: taken from the file's name]",
    ),
]


def _show_template(is_asked: bool) -> None:
    if is_asked:
        from variants.sheets.typesetter import template_text

        typer.echo(template_text(), nl=False)
        raise typer.Exit


@options.spread()
def sheet(
    file: Files,
    out: Out,
    sound: SoundWishes,
    paper: Annotated[PaperWish, typer.Option("--paper", help="Paper.")] = PaperWish.a4,
    size: Annotated[
        SizeWish,
        typer.Option("--size", help="Size of print; large follows large-print practice."),
    ] = SizeWish.normal,
    staves: Annotated[
        SheetStaves,
        typer.Option("--staves", help="Staves of a part that is for guitar."),
    ] = SheetStaves.source,
    exercise: Exercises = None,
    answers: Annotated[
        bool, typer.Option("--answers", help="Add a page with the answers of each exercise.")
    ] = False,
    answers_out: Annotated[
        str,
        typer.Option(
            "--answers-out", metavar="OUT", help="Write the answers to a file of their own (.pdf)."
        ),
    ] = "",
    name: Names = None,
    level: Annotated[
        str, typer.Option("--level", metavar="NAME", help="Level to print at the head.")
    ] = "",
    practises: Annotated[
        list[str] | None,
        typer.Option(
            "--practises",
            metavar="TEXT",
            help="What the versions practise, to print at their head; again for the next thing; an "
            "empty text for nothing. [default: what the report beside a file says, else what is "
            "found in the notes]",
        ),
    ] = None,
    measures: Annotated[
        int,
        typer.Option(
            "--measures",
            metavar="N",
            min=0,
            max=16,
            help="Most measures on a line; 0 lets the width decide.",
        ),
    ] = 4,
    reading_page: Annotated[
        bool,
        typer.Option(
            "--reading-page/--no-reading-page", help="Begin with the notes of the first version."
        ),
    ] = True,
    compact: Annotated[
        bool, typer.Option("--compact", help="Least paper: versions may go on over the page.")
    ] = False,
    one_page: Annotated[
        bool, typer.Option("--one-page", help="All of it on one page, or nothing.")
    ] = False,
    notes: Annotated[
        NotesWish,
        typer.Option("--notes", help="Whom the words are for; teacher adds what changed."),
    ] = NotesWish.pupil,
    dpi: Annotated[
        int,
        typer.Option(
            "--dpi", metavar="N", min=36, max=1200, help="With .png: dots in an inch of paper."
        ),
    ] = 150,
    left_handed: Annotated[
        bool, typer.Option("--left-handed", help="Draw the neck for a left-handed player.")
    ] = False,
    neck: Annotated[
        bool,
        typer.Option("--neck", help="With .svg: the map of the neck instead of the music."),
    ] = False,
    template: Annotated[
        str,
        typer.Option("--template", metavar="FILE", help="A template of your own (.typ)."),
    ] = "",
    _: Annotated[
        bool,
        typer.Option(
            "--show-template",
            callback=_show_template,
            is_eager=True,
            help="Print the shipped template, to begin your own with.",
        ),
    ] = False,
    fonts: Annotated[
        str,
        typer.Option("--fonts", metavar="FOLDER", help="A folder with further fonts."),
    ] = "",
    reading: options.Reading = options.ReadingWish.auto,
    json: options.Json = False,
    quiet: options.Quiet = False,
    force: options.Force = False,
) -> None:
    """Print versions as a handout, or put them into a page to look at and to hear."""
    from variants.sheets import Look

    look = Look(
        paper=paper.value,
        size=size.value,
        staves=staves.value,
        most_measures=measures,
        left_handed=left_handed,
        template=Path(template) if template else None,
        fonts=Path(fonts) if fonts else None,
        compact=compact,
        one_page=one_page,
        notes=notes.value,
    )
    call = SheetCall(
        files=file,
        out=out,
        look=look,
        names=tuple(name or ()),
        level=level,
        practises=tuple(practises or ()),
        exercises=tuple(exercise or ()),
        answers=answers,
        answers_out=answers_out,
        dpi=dpi,
        reading_page=reading_page,
        neck=neck,
        reading=reading.value,
        is_json=json,
        is_quiet=quiet,
        sound=sound,
    )
    _carry_out(call, force=force)


def _carry_out(call: SheetCall, *, force: bool) -> None:
    from variants.errors import OutputError, UsageError

    make = MAKERS.get(Path(call.out).suffix.lower())
    if make is None:
        raise OutputError(
            "the name does not say what to write",
            place=call.out,
            way_out=f"let it end in {', '.join(MAKERS)}",
        )
    _check_fitting(call)
    if call.names and len(call.names) != len(call.files):
        raise UsageError(
            f"{len(call.names)} names for {len(call.files)} files",
            way_out="give --name once for each file, or not at all",
        )
    _check_free(call.out, call, force=force)
    if call.answers_out:
        _check_free(call.answers_out, call, force=force)
    report = make(call)
    for name, _ in report.files:
        _check_free(name, call, force=force)
    for name, data in report.files:
        path = Path(os.path.realpath(name))
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            write_file(path, data)
        except OSError as error:
            raise OutputError(
                f"cannot be written: {(error.strerror or str(error)).lower()}",
                place=name,
                way_out="check the rights and the room in its folder",
            ) from None
    if not call.is_quiet:
        _say(call, report)


def _check_fitting(call: SheetCall) -> None:
    """Check that no option is given that the output has no use for."""
    from variants.errors import UsageError

    ending = Path(call.out).suffix.lower()
    pages = (".pdf", ".png")
    for name, given, fitting in (
        ("--exercise", bool(call.exercises), pages),
        ("--answers", call.answers, pages),
        ("--answers-out", bool(call.answers_out), pages),
        ("--template", call.look.template is not None, (".pdf",)),
        ("--compact", call.look.compact, pages),
        ("--one-page", call.look.one_page, pages),
        ("--neck", call.neck, (".svg",)),
        ("--speed", call.sound.speed != 100, AUDIO),
        ("--count-in", call.sound.count_in, AUDIO),
        ("--click", call.sound.click, AUDIO),
        ("--loop", bool(call.sound.loop), AUDIO),
        ("--faster", call.sound.faster != 0, AUDIO),
        ("--plays", bool(call.sound.plays), AUDIO),
        ("--without", bool(call.sound.without), AUDIO),
    ):
        if given and ending not in fitting:
            only = " and ".join(fitting)
            raise UsageError(
                f"{name} is for {only} and the output is {ending}",
                way_out=f"leave it out, or let the output end in {fitting[0]}",
            )
    if call.answers_out and Path(call.answers_out).suffix.lower() != ".pdf":
        raise UsageError("--answers-out is for .pdf", way_out="let its name end in .pdf")


def _check_free(name: str, call: SheetCall, *, force: bool) -> None:
    """Check that an output may be written; a folder that is missing is made when it is."""
    from variants.errors import OutputError
    from variants.files import check_free

    path = Path(os.path.realpath(name))
    if not path.parent.exists():
        return
    is_ours = path.is_file() and _MARK in path.read_bytes()
    sources = tuple(one for one in call.files if one != STANDARD_STREAM)
    try:
        check_free(path, name, sources=sources, force=force or is_ours)
    except OSError as error:
        raise OutputError(
            f"cannot be looked at: {(error.strerror or str(error)).lower()}",
            place=name,
            way_out="check the name and the rights",
        ) from None


def _say(call: SheetCall, report: MadeSheet) -> None:
    from ..text import show, show_json, wrapped

    lines = list(dict.fromkeys(str(change) for change in report.log))
    if call.is_json:
        show_json(
            {
                "sources": list(call.files),
                "output": call.out,
                "pages": report.pages,
                "log": lines,
            }
        )
        return
    text = wrapped(f"{call.out}: {report.text}", other="  ")
    for line in lines:
        text += wrapped(line, first="  ", other="    ")
    show(text)
