"""What `neckwise sheet` makes of its files: one maker for each ending of the output."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from variants.files import STANDARD_STREAM

from .sound import SoundWishes
from .source import load_score, shown

if TYPE_CHECKING:
    from variants.score import Change, Score
    from variants.sheets import ChangeReport, Handout, Look, Version


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCall:
    """A call of this command; the options below say what each member means."""

    files: Sequence[str]
    out: str
    look: Look
    names: Sequence[str]
    level: str
    practises: Sequence[str]
    exercises: Sequence[str]
    answers: bool
    answers_out: str
    dpi: int
    reading_page: bool
    neck: bool
    reading: str
    is_json: bool
    is_quiet: bool
    sound: SoundWishes


@dataclass(frozen=True, slots=True)
class MadeSheet:
    """A run: its files, how it went, what is not on the page, and how many pages there are."""

    files: tuple[tuple[str, bytes], ...]
    text: str
    log: tuple[Change, ...] = ()
    pages: int = 0


def _handout(call: SheetCall) -> tuple[Handout, MadeSheet]:
    from variants.errors import NeckwiseError
    from variants.sheets import exercises, handout, print_sheets
    from variants.sheets.handout import songs_of

    versions = [_version(call, index) for index in range(len(call.files))]
    apart = bool(call.answers_out)
    try:
        own = songs_of(versions)[0]
        wants_answers = call.answers or apart
        sheets = exercises(own[0], call.exercises, answers=wants_answers, others=own[1:])
    except NeckwiseError as error:
        raise error.at(shown(call.files[0])) if error.place else error from None
    answers = [one for one in sheets if apart and one.kind == "answer"]
    asked = [one for one in sheets if one not in answers]
    made: Handout = handout(versions, call.look, reading=call.reading_page, sheets=asked)
    files: tuple[tuple[str, bytes], ...] = ()
    if answers:
        # Their paper is not that of the handout: only it has to fit one page.
        files = ((call.answers_out, print_sheets(answers, replace(call.look, one_page=False)).pdf),)
    pages = made.pages
    text = f"{pages} {'page' if pages == 1 else 'pages'}, {call.look.paper}, {call.look.size} print"
    return made, MadeSheet(files, text, (*_songs(versions), *made.log), pages)


def _songs(versions: Sequence[Version]) -> tuple[Change, ...]:
    """Return a line that says so where the files are several songs."""
    from variants.score import Change
    from variants.sheets.handout import songs_of

    songs = [own[0].score.title or "Untitled" for own in songs_of(versions)]
    if len(songs) < 2:
        return ()
    text = f"{len(songs)} songs ({'; '.join(songs)}): each has sheets of its own"
    return (Change(text, "sheet"),)


def _pdf(call: SheetCall) -> MadeSheet:
    made, told = _handout(call)
    return replace(told, files=((call.out, made.pdf), *told.files))


def _png(call: SheetCall) -> MadeSheet:
    made, told = _handout(call)
    pages = made.pngs(call.dpi)
    path = Path(call.out)
    names = [str(path.with_stem(f"{path.stem}-{number}")) for number in range(1, len(pages) + 1)]
    if len(pages) == 1:
        names = [call.out]
    return replace(told, files=(*zip(names, pages, strict=True), *told.files))


def _only_file(call: SheetCall, what: str) -> str:
    from variants.errors import UsageError

    if len(call.files) > 1:
        raise UsageError(f"a {what} holds one version", way_out="name one file")
    return call.files[0]


def _svg(call: SheetCall) -> MadeSheet:
    from variants.score import Change
    from variants.sheets import engrave, grips_of, neck_map, one_drawing
    from variants.sheets.facts import about
    from variants.sheets.style import paper_named, print_named

    score = _score(_only_file(call, "drawing"), call)
    look = call.look
    if call.neck:
        drawing = neck_map(score, size=look.size, left_handed=look.left_handed)
        return MadeSheet(((call.out, drawing.svg.encode()),), drawing.title)
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
    drawing = one_drawing(engraving, title=score.title, about=about(score))
    return MadeSheet(((call.out, drawing.svg.encode()),), drawing.alt, log)


def _midi(call: SheetCall) -> MadeSheet:
    from variants.sheets import to_midi

    score = _score(_only_file(call, "sound file"), call)
    data = to_midi(score)
    count = len(score.parts)
    text = f"{count} {'part' if count == 1 else 'parts'}, repeats played out"
    return MadeSheet(((call.out, data),), text, _doubts(score))


def _doubts(score: Score) -> tuple[Change, ...]:
    from variants.score import Change
    from variants.score.playing import playing

    return tuple(Change(f"order of playing: {doubt}", "sheet") for doubt in playing(score).doubts)


def _audio(call: SheetCall) -> MadeSheet:
    from variants.score import Change

    from .sound import audio

    score = _score(_only_file(call, "sound file"), call)
    data, text, told = audio(score, call.sound, Path(call.out).suffix.lower())
    log = (*_doubts(score), *(Change(line, "sheet") for line in told))
    return MadeSheet(((call.out, data),), text, log)


def _html(call: SheetCall) -> MadeSheet:
    from variants.sheets.review import review_page

    versions = [_version(call, index) for index in range(len(call.files))]
    made = review_page(versions, call.look)
    count = len(versions)
    text = f"{count} {'version' if count == 1 else 'versions'} to look at and to hear"
    return MadeSheet(((call.out, made.html),), text, (*_songs(versions), *made.log))


AUDIO = (".wav", ".flac", ".ogg", ".mp3")
# What each ending of the output asks for.
MAKERS: dict[str, Callable[[SheetCall], MadeSheet]] = {
    ".pdf": _pdf,
    ".png": _png,
    ".html": _html,
    ".svg": _svg,
    ".mid": _midi,
    **dict.fromkeys(AUDIO, _audio),
}


def _score(file: str, call: SheetCall) -> Score:
    """Return the score of a file, fingered where its tab would otherwise stay empty."""
    from variants.errors import NeckwiseError
    from variants.prepare import Strings, prepare
    from variants.sheets import ready

    try:
        score = prepare(load_score(file), call.reading, Strings(keep_places=True))
        return ready(score, staves=call.look.staves)
    except NeckwiseError as error:
        raise error.at(shown(file)) from None


def _version(call: SheetCall, index: int) -> Version:
    from variants.sheets import ChangeReport, Version, read_report, report_beside

    file = call.files[index]
    score = _score(file, call)
    report = ChangeReport()
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
        practises=_practises(call, score, report),
    )


def _practises(call: SheetCall, score: Score, report: ChangeReport) -> tuple[str, ...]:
    """Return what a version practises: as told, else as its report or its notes say."""
    from variants.levels.headlines import headlines

    if call.practises:
        return tuple(text for text in call.practises if text)
    return report.practises or headlines(score)


def _names(call: SheetCall) -> list[str]:
    """Return what tells the versions apart: as given, else what their files' names do not share.

    What is left of a name is said with the title of the recipe or the level that it names.
    """
    if call.names or len(call.files) < 2:
        return list(call.names) or [""]
    words = [Path(file).stem.replace("-", " ").replace("_", " ").split() for file in call.files]
    shared = 0
    while all(one[shared : shared + 1] == words[0][shared : shared + 1] != [] for one in words):
        shared += 1
    if not shared:
        # Nothing in common: they are no versions of one piece, or the piece itself is among them.
        return [_named(one) for one in words]
    # The piece itself may be one of them: nothing is left of its name.
    return [_named(one[shared:] or one) for one in words]


def _named(words: Sequence[str]) -> str:
    from variants.levels import LADDER, load_level
    from variants.recipes import usual_recipes

    name = "-".join(words)
    recipe = usual_recipes().get(name)
    title = recipe.title if recipe else ""
    if not title and name in LADDER:
        title = load_level(name).title
    text = title or " ".join(words)
    return text[:1].upper() + text[1:]
