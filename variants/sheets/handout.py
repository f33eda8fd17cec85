"""The handout: what stands on each sheet, and the typesetter that makes a PDF of it."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from pathlib import Path
from typing import Any

from variants.cautions import footer_text
from variants.errors import UsageError
from variants.musicxml import Staves
from variants.score import Change, Note, Part, Score, map_notes, with_parts
from variants.sheets import facts
from variants.sheets.changes import ChangeReport, shortened
from variants.sheets.engrave import (
    BEGINNERS_MEASURES,
    Engraving,
    System,
    measures_text,
)
from variants.sheets.engraver_xml import Wants, prepare
from variants.sheets.fonts import FALLBACK, SANS, SERIF, Letters, missing_line
from variants.sheets.grips import draw_grip, grips_of
from variants.sheets.layout import HandoutLayout, SheetToLay
from variants.sheets.legend import legend
from variants.sheets.neckmap import caption, neck_map, places_used
from variants.sheets.paging import Paged
from variants.sheets.style import Paper, Print, paper_named, print_named
from variants.sheets.svgtext import Picture
from variants.sheets.typesetter import measured, pictures, typeset

# A title longer than this is set smaller, so that it takes two lines and not five.
_LONG_TITLE = 60
# A page as wide as this holds the cautions of large print in one line.
_WIDE_MM = 250.0
# Most measures on a line of large print, where a line is read at arm's length (common practice).
LARGE_MEASURES = 3
# A run of so many letters in a word that goes on; a break may follow it.
_LONG_WORD = re.compile(r"\S{30}(?=\S)")
_PAGE = re.compile(rb"/Type\s*/Page\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """How a handout is printed.

    Args:
        paper: ``a4`` or ``letter``.
        size: ``normal`` or ``large``.
        staves: Notation, tab or both; ``source`` keeps what each file has.
        most_measures: Most measures on a line; 0 lets the width decide.
        left_handed: Draw neck and grips for a left-handed player.
        template: A template of the user's; ``None`` for the shipped one.
        fonts: A folder with further fonts; ``None`` for none.
        compact: Least paper: small staves, versions that go on over the page.
        one_page: All of it on one page, or a refusal.
        notes: ``pupil``, or ``teacher`` with what changed in each version.
    """

    paper: str = "a4"
    size: str = "normal"
    staves: Staves | str = Staves.SOURCE
    most_measures: int = BEGINNERS_MEASURES
    left_handed: bool = False
    template: Path | None = None
    fonts: Path | None = None
    compact: bool = False
    one_page: bool = False
    notes: str = "pupil"


@dataclass(frozen=True, slots=True, kw_only=True)
class Version:
    """One version in a handout.

    Args:
        score: The version, with places and fingers.
        name: What tells it from the others: ``open position``; empty for none.
        report: What changed on the way to it.
        level: Name of its level; empty for none.
        practises: What it practises, in a few words each.
    """

    score: Score
    name: str = ""
    report: ChangeReport = field(default_factory=ChangeReport)
    level: str = ""
    practises: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """One sheet of a handout, of one page or more.

    Args:
        kind: ``reading``, ``version``, ``exercise`` or ``answer``.
        score: What is printed.
        staves: How.
        subtitle: A line under the title.
        instruction: What to do, for an exercise.
        wants: What is printed at the notes.
        version: The version that it belongs to.
        pictures: Draws what stands in place of the music, for a look, a print and a width; ``None``
            for music.
    """

    kind: str
    score: Score
    staves: Staves | str
    subtitle: str = ""
    instruction: str = ""
    wants: Wants = field(default_factory=Wants)
    version: Version
    pictures: Callable[[Look, Print, float], list[Picture]] | None = None


@dataclass(frozen=True, slots=True)
class Handout:
    """A handout that is ready.

    Args:
        pdf: The file.
        log: What is not on paper, or not as it stood.
        engravings: The music of each sheet, in order.
        data: What the template was given.
        look: How it is printed.
    """

    pdf: bytes = field(repr=False)
    log: tuple[Change, ...]
    engravings: tuple[Engraving, ...] = field(repr=False, default=())
    data: dict[str, Any] = field(repr=False, compare=False, default_factory=dict)
    look: Look = field(repr=False, default_factory=Look)

    def pngs(self, dpi: int) -> list[bytes]:
        """Return a picture of each page with so many dots in an inch."""
        letters = Letters(self.look.fonts)
        return pictures(self.data, template=self.look.template, letters=letters, dpi=dpi)

    @property
    def pages(self) -> int:
        """Number of pages."""
        return len(_PAGE.findall(self.pdf))


def handout(
    versions: Sequence[Version],
    look: Look | None = None,
    *,
    reading: bool = True,
    sheets: Iterable[Sheet] = (),
) -> Handout:
    """Return a handout: a page to read first, the versions, then further sheets.

    Args:
        versions: The versions in order; the first one is what the reading page shows.
        look: How it is printed.
        reading: Whether to begin with a page of plain notation.
        sheets: Exercises and answers (`variants.sheets.exercises`).

    Raises:
        UsageError: No version, or a look that does not exist.
        OutputError: The engraver or the typesetter fails, or the template has an error.
    """
    look = look or Look()
    return print_sheets([*version_sheets(versions, look, reading=reading), *sheets], look)


def version_sheets(versions: Sequence[Version], look: Look, *, reading: bool = True) -> list[Sheet]:
    """Return the sheets of versions, with a page of plain notation before them if asked for.

    Raises:
        UsageError: There is no version.
    """
    if not versions:
        raise UsageError("there is nothing to print", way_out="name at least one file")
    found = []
    for own in songs_of(versions):
        found += [_reading(own[0])] if reading else []
        found += [_version(version, look) for version in own]
    return found


def songs_of(versions: Sequence[Version]) -> list[list[Version]]:
    """Return versions by the song that they are of, which its title says."""
    songs: dict[str, list[Version]] = {}
    for version in versions:
        songs.setdefault(" ".join(version.score.title.casefold().split()), []).append(version)
    return list(songs.values())


def print_sheets(sheets: Sequence[Sheet], look: Look) -> Handout:
    """Return sheets as one PDF; see `handout`."""
    data, log, engravings = page_data(sheets, look)
    pdf = typeset(data, template=look.template, letters=Letters(look.fonts))
    return Handout(pdf, log, engravings, data, look)


def page_data(
    sheets: Sequence[Sheet], look: Look
) -> tuple[dict[str, Any], tuple[Change, ...], tuple[Engraving, ...]]:
    """Return what the template is given, what is not on paper, and the music of each sheet."""
    paper = paper_named(look.paper)
    printed = print_named(look.size)
    letters = Letters(look.fonts)
    content, layout = _begun(sheets, look, printed, letters)
    if printed.landscape and not layout.fits(printed.page_mm(paper)[1]):
        # Lines of several players do not fit a page that lies on its long side.
        printed = replace(printed, landscape=False)
        content, layout = _begun(sheets, look, printed, letters)
    engravings, paged = layout.chosen(_full_mm(printed, paper))
    if look.one_page and len(paged.pages) > 1:
        raise UsageError(
            f"it does not fit one page: it takes {len(paged.pages)}",
            way_out="print fewer versions or exercises on it, leave out the reading page, or allow "
            "more measures on a line",
        )
    for sheet, laid, one, engraving in zip(sheets, layout.sheets, content, engravings, strict=True):
        part = facts.main_part(sheet.score)
        one["systems"] = [_system(system, part) for system in engraving.systems]
        one["systems"] += [_picture(drawn) | {"turn": True} for drawn in laid.pictures]
    data = _document(content, paper, printed, letters) | {"pages": _pages(paged, content)}
    log = [change for engraving in engravings for change in engraving.log]
    line = missing_line(_texts(content), letters)
    if line:
        log.append(Change(line, "sheet"))
    return data, tuple(dict.fromkeys(log)), tuple(engravings)


def _begun(
    sheets: Sequence[Sheet], look: Look, printed: Print, letters: Letters
) -> tuple[list[dict[str, Any]], HandoutLayout]:
    """Return what stands on the sheets beside their music, and the layout that has measured it."""
    paper = paper_named(look.paper)
    content = [_content(sheet, look, printed) for sheet in sheets]
    for before, one in pairwise(content):
        one["news"] = [fact for fact in one["facts"] if fact not in before["facts"]]
    heights = measured(_document(content, paper, printed, letters), letters=letters)
    explained: set[str] = set()
    laid = []
    for index, (sheet, own, high) in enumerate(zip(sheets, content, heights, strict=True)):
        signs = {entry["meaning"] for entry in own["legend"]}
        width = printed.content_mm(paper)
        drawn = sheet.pictures(look, printed, width) if sheet.pictures else ()
        laid.append(
            SheetToLay(
                kind=sheet.kind,
                prepared=None
                if drawn
                else prepare(sheet.score, staves=sheet.staves, wants=sheet.wants),
                pictures=tuple(drawn),
                score=sheet.score,
                head=high["head"],
                short=high["short"],
                rows=tuple(high["rows"]),
                unsigned=tuple(high["unsigned"]) if signs <= explained else None,
                is_apart=index > 0 and _is_apart(sheets[index - 1], sheet),
            )
        )
        explained |= signs
    layout = HandoutLayout(
        laid,
        printed=printed,
        width_mm=printed.content_mm(paper),
        most=_most_measures(look),
        saves_paper=look.compact or look.one_page,
    )
    return content, layout


def _most_measures(look: Look) -> int:
    """Return the most measures on a line; large print has room for fewer."""
    if look.size == "large":
        return min(look.most_measures or LARGE_MEASURES, LARGE_MEASURES)
    return look.most_measures


def _is_apart(before: Sheet, sheet: Sheet) -> bool:
    """Whether a sheet begins a page: another song, the first exercise, the first answer."""
    music = {"reading", "version"}
    same = before.kind == sheet.kind or {before.kind, sheet.kind} <= music
    return not same or before.score.title != sheet.score.title


def _full_mm(printed: Print, paper: Paper) -> float:
    """Return the height of a page without its margins and its foot."""
    return printed.page_mm(paper)[1] - 2 * printed.margin_mm - _foot_mm(printed, paper)


def _foot_mm(printed: Print, paper: Paper) -> float:
    """Return the room for the foot; the cautions take two lines on a narrow page in large print."""
    if printed.name == "normal":
        return 9.0
    return 13.0 if printed.page_mm(paper)[0] > _WIDE_MM else 19.0


def _pages(paged: Paged, content: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return what the template is told of each page."""
    return [
        {
            "pieces": [
                {"sheet": one.section, "what": one.what, "index": one.index, "gap": one.gap}
                for one in page
            ],
            "rights": list(
                dict.fromkeys(
                    content[one.section]["rights"] for one in page if content[one.section]["rights"]
                )
            ),
        }
        for page in paged.pages
    ]


def _reading(version: Version) -> Sheet:
    """The first version's notes alone, without a word on how they are played."""
    bare = [map_notes(part, _plain_note) for part in version.score.parts]
    score = with_parts(version.score, bare)
    wants = Wants(fingers=False, words=False)
    return Sheet(
        kind="reading",
        score=score,
        staves=Staves.NOTATION,
        subtitle="The notes alone: say them, sing them, clap them, then play.",
        wants=wants,
        version=replace(version, report=ChangeReport()),
    )


def _plain_note(note: Note) -> Note:
    return replace(note, finger="", pluck="", place=None)


def _version(version: Version, look: Look) -> Sheet:
    return Sheet(
        kind="version",
        score=version.score,
        staves=look.staves,
        subtitle=version.name,
        version=version,
    )


# -- what the template is given -------------------------------------------------------------------


def _document(
    content: list[dict[str, Any]], paper: Paper, printed: Print, letters: Letters
) -> dict[str, Any]:
    width, height = printed.page_mm(paper)
    given = [name for name in letters.families() if name not in (SANS, FALLBACK)]
    return {
        "title": content[0]["title"],
        "language": "en",
        "page": {
            "width": width,
            "height": height,
            "margin": printed.margin_mm,
            "foot": _foot_mm(printed, paper),
        },
        "print": {
            "name": printed.name,
            "text": printed.text_pt,
            "small": printed.small_pt,
            "title": printed.title_pt,
        },
        "letters": {
            "sans": [SANS, *given, FALLBACK],
            "serif": [SANS if printed.name == "large" else SERIF, *given, FALLBACK],
        },
        "footer": footer_text(),
        "sheets": content,
    }


def _content(sheet: Sheet, look: Look, printed: Print) -> dict[str, Any]:
    score = sheet.score
    title = score.title or "Untitled"
    part = facts.main_part(score)
    is_version = sheet.kind == "version"
    entries = _legend(sheet, part)
    changed = list(map(breakable, shortened(sheet.version.report.changes)))
    chords = dict.fromkeys(grip for one in score.parts for grip in grips_of(one))
    grips = [draw_grip(grip, printed, left_handed=look.left_handed) for grip in chords]
    return {
        "kind": sheet.kind,
        "title": breakable(title),
        "is_long": len(score.title) > _LONG_TITLE,
        "subtitle": breakable("" if sheet.subtitle.lower() == title.lower() else sheet.subtitle),
        "instruction": sheet.instruction,
        "creators": [breakable(line) for line in facts.creators(score)],
        "rights": breakable(facts.rights(score)),
        "facts": facts.facts(score, level=sheet.version.level or sheet.version.report.level),
        "news": [],
        "practises": list(map(breakable, sheet.version.practises)) if is_version else [],
        "systems": [],
        "legend": entries,
        "changed": changed if is_version and look.notes == "teacher" else [],
        "necks": _necks(score, look, printed) if is_version else [],
        "grips": [_picture(grip) for grip in grips] if is_version else [],
    }


def breakable(text: str) -> str:
    """Return a text whose longest words may be broken, so that none leaves the page.

    >>> breakable("short words"), len(breakable("x" * 100))
    ('short words', 103)
    """
    return _LONG_WORD.sub(lambda found: found.group(0) + "\u200b", text)


def _legend(sheet: Sheet, part: Part) -> list[dict[str, Any]]:
    layout = Staves.parse(sheet.staves)
    shown = part.layout if layout is Staves.SOURCE else layout.value
    entries = legend(sheet.score, tab=shown in ("tab", "both"), fingers=sheet.wants.fingers)
    return [
        {
            "sign": entry.sign,
            "meaning": entry.meaning,
            "drawing": _picture(entry.drawing) if entry.drawing else None,
        }
        for entry in (entries if sheet.kind == "version" else [])
    ]


def _necks(score: Score, look: Look, printed: Print) -> list[dict[str, Any]]:
    """Return a map for each part that has places."""
    found = []
    for index, part in enumerate(score.parts):
        used = places_used(part)
        if part.instrument is None or not used:
            continue
        drawing = neck_map(
            score,
            part=index,
            size=look.size,
            left_handed=look.left_handed,
            most_mm=printed.content_mm(paper_named(look.paper)),
        )
        words = caption(used, left_handed=look.left_handed)
        name = part.name if len(score.parts) > 1 else ""
        found.append({**_picture(drawing), "caption": words, "name": name})
    return found


def _picture(drawing: Picture) -> dict[str, Any]:
    return {
        "svg": drawing.svg,
        "width": drawing.width_mm,
        "height": drawing.height_mm,
        "alt": drawing.alt,
    }


def _system(system: System, part: Part) -> dict[str, Any]:
    return {
        "svg": system.svg,
        "width": system.width_mm,
        "height": system.height_mm,
        "turn": system.can_turn,
        "alt": f"Music, {measures_text(part, system.first, system.last)}",
    }


def _texts(content: list[dict[str, Any]]) -> Iterable[str]:
    for sheet in content:
        yield sheet["title"]
        yield sheet["subtitle"]
        yield sheet["rights"]
        yield from sheet["creators"]
        yield from sheet["changed"]
        yield from sheet["practises"]
        for label, value in sheet["facts"]:
            yield label + value
