"""`neckwise sheet`: a handout to print, or the sound."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cli import options
from cli.output import STANDARD_STREAM, write_file
from cli.source import load_score, shown

if TYPE_CHECKING:
    from variants.score import Change, Score
    from variants.sheets import Handout, Look, Version

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
        help="A handout (.pdf); of one version the music as a drawing (.svg) or the sound (.mid).",
    ),
]
Exercises = Annotated[
    list[str] | None,
    typer.Option(
        "--exercise",
        metavar="NAME",
        help="An exercise page made from the first version: fill-tab, fill-notes, name-notes or "
        "clap; again for the next one.",
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """A call of this command; the options below say what each member means."""

    files: Sequence[str]
    out: str
    look: Look
    names: Sequence[str]
    level: str
    practises: Sequence[str]
    exercises: Sequence[str]
    answers: bool
    reading_page: bool
    neck: bool
    reading: str
    is_json: bool
    is_quiet: bool


def sheet(
    file: Files,
    out: Out,
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
    name: Names = None,
    level: Annotated[
        str, typer.Option("--level", metavar="NAME", help="Level to print at the head.")
    ] = "",
    practises: Annotated[
        list[str] | None,
        typer.Option(
            "--practises",
            metavar="TEXT",
            help="What the versions practise, to print at their head; again for the next thing. "
            "[default: what the report beside a file says]",
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
    """Print versions as a handout, with a legend, a map of the neck, and exercises."""
    from variants.sheets import Look

    look = Look(
        paper=paper.value,
        size=size.value,
        staves=staves.value,
        most_measures=measures,
        left_handed=left_handed,
        template=Path(template) if template else None,
        fonts=Path(fonts) if fonts else None,
    )
    call = Call(
        files=file,
        out=out,
        look=look,
        names=tuple(name or ()),
        level=level,
        practises=tuple(practises or ()),
        exercises=tuple(exercise or ()),
        answers=answers,
        reading_page=reading_page,
        neck=neck,
        reading=reading.value,
        is_json=json,
        is_quiet=quiet,
    )
    _carry_out(call, force=force)


def _carry_out(call: Call, *, force: bool) -> None:
    from variants.errors import OutputError, UsageError

    make = _MAKERS.get(Path(call.out).suffix.lower())
    if make is None:
        raise OutputError(
            "the name does not say what to write",
            place=call.out,
            way_out=f"let it end in {', '.join(_MAKERS)}",
        )
    if call.names and len(call.names) != len(call.files):
        raise UsageError(
            f"{len(call.names)} names for {len(call.files)} files",
            way_out="give --name once for each file, or not at all",
        )
    path = Path(os.path.realpath(call.out))
    _check_free(path, call, force=force)
    data, report = make(call)
    try:
        write_file(path, data)
    except OSError as error:
        raise OutputError(
            f"cannot be written: {(error.strerror or str(error)).lower()}",
            place=call.out,
            way_out="check the rights and the room in its folder",
        ) from None
    if not call.is_quiet:
        _say(call, report)


def _check_free(path: Path, call: Call, *, force: bool) -> None:
    """Check that the output may be written, as `cli.output.check_free` does for scores."""
    from cli.output import check_free
    from variants.errors import OutputError

    is_ours = path.is_file() and _MARK in path.read_bytes()
    sources = tuple(one for one in call.files if one != STANDARD_STREAM)
    try:
        check_free(path, call.out, sources=sources, force=force or is_ours)
    except OSError as error:
        raise OutputError(
            f"cannot be looked at: {(error.strerror or str(error)).lower()}", place=call.out
        ) from None


@dataclass(frozen=True, slots=True)
class _Report:
    """What is said of a run."""

    text: str
    log: tuple[Change, ...] = ()
    pages: int = 0


def _pdf(call: Call) -> tuple[bytes, _Report]:
    from variants.errors import NeckwiseError
    from variants.sheets import exercises, handout

    versions = [_version(call, index) for index in range(len(call.files))]
    try:
        sheets = exercises(versions[0], call.exercises, answers=call.answers)
    except NeckwiseError as error:
        raise error.at(shown(call.files[0])) if error.place else error from None
    made: Handout = handout(versions, call.look, reading=call.reading_page, sheets=sheets)
    pages = made.pages
    text = f"{pages} {'page' if pages == 1 else 'pages'}, {call.look.paper}, {call.look.size} print"
    return made.pdf, _Report(text, made.log, pages)


def _only_file(call: Call, what: str) -> str:
    from variants.errors import UsageError

    if len(call.files) > 1:
        raise UsageError(f"a {what} holds one version", way_out="name one file")
    return call.files[0]


def _svg(call: Call) -> tuple[bytes, _Report]:
    from variants.score import Change
    from variants.sheets import engrave, grips_of, neck_map, one_drawing
    from variants.sheets.style import paper_named, print_named

    score = _score(_only_file(call, "drawing"), call)
    look = call.look
    if call.neck:
        drawing = neck_map(score, size=look.size, left_handed=look.left_handed)
        return drawing.svg.encode(), _Report(drawing.title)
    engraving = engrave(
        score,
        staves=look.staves,
        width_mm=print_named(look.size).content_mm(paper_named(look.paper)),
        size=look.size,
        most_measures=look.most_measures,
    )
    log = engraving.log
    if any(grips_of(part) for part in score.parts):
        log += (Change("the chord grips are not in the drawing; a handout has them", "sheet"),)
    drawing = one_drawing(engraving, title=score.title)
    return drawing.svg.encode(), _Report(drawing.alt, log)


def _midi(call: Call) -> tuple[bytes, _Report]:
    from variants.sheets import to_midi

    score = _score(_only_file(call, "sound file"), call)
    data = to_midi(score)
    count = len(score.parts)
    return data, _Report(f"{count} {'part' if count == 1 else 'parts'}, repeats played out")


def _html(call: Call) -> tuple[bytes, _Report]:
    from variants.sheets.review import review_page

    versions = [_version(call, index) for index in range(len(call.files))]
    made = review_page(versions, call.look)
    count = len(versions)
    text = f"{count} {'version' if count == 1 else 'versions'} to look at and to hear"
    return made.html, _Report(text, made.log)


# What each ending of the output asks for.
_MAKERS: dict[str, Callable[[Call], tuple[bytes, _Report]]] = {
    ".pdf": _pdf,
    ".html": _html,
    ".svg": _svg,
    ".mid": _midi,
}


def _score(file: str, call: Call) -> Score:
    """Return the score of a file, fingered where its tab would otherwise stay empty."""
    from variants.errors import NeckwiseError
    from variants.prepare import Strings, prepare
    from variants.sheets import ready

    try:
        score = prepare(load_score(file), call.reading, Strings(keep_places=True))
        return ready(score, staves=call.look.staves)
    except NeckwiseError as error:
        raise error.at(shown(file)) from None


def _version(call: Call, index: int) -> Version:
    from variants.sheets import Report, Version, read_report, report_beside

    file = call.files[index]
    score = _score(file, call)
    report = Report()
    if file != STANDARD_STREAM:
        beside = report_beside(Path(file))
        if beside.is_file():
            report = read_report(beside)
    name = _names(call)[index]
    return Version(
        score=score,
        name=name,
        report=report,
        level=call.level or report.level,
        practises=tuple(call.practises) or report.practises,
    )


def _names(call: Call) -> list[str]:
    """Return what tells the versions apart: as given, else what their files' names do not share."""
    if call.names or len(call.files) < 2:
        return list(call.names) or [""]
    words = [Path(file).stem.replace("-", " ").replace("_", " ").split() for file in call.files]
    shared = 0
    while all(one[shared : shared + 1] == words[0][shared : shared + 1] != [] for one in words):
        shared += 1
    # The piece itself may be one of them: nothing is left of its name.
    names = (" ".join(one[shared:] or one) for one in words)
    return [name[:1].upper() + name[1:] for name in names]


def _say(call: Call, report: _Report) -> None:
    from cli.text import show, show_json, wrapped

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
