"""The handout: what stands on each sheet, and the typesetter that makes a PDF of it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from statistics import median
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
    engrave_prepared,
    measures_text,
)
from variants.sheets.engraver_xml import Wants, prepare
from variants.sheets.fonts import FALLBACK, SANS, SERIF, Letters, missing_line
from variants.sheets.grips import draw_grip, grips_of
from variants.sheets.legend import legend
from variants.sheets.neckmap import caption, neck_map, places_used
from variants.sheets.style import Paper, Print, paper_named, print_named
from variants.sheets.svgtext import Picture
from variants.sheets.typesetter import typeset

# A title longer than this is set smaller, so that it takes two lines and not five.
_LONG_TITLE = 60
# Share of a page's height that one line of music may take beside head and foot, and alone.
_FIRST = 0.58
_ALONE = 0.78
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
    """

    paper: str = "a4"
    size: str = "normal"
    staves: Staves | str = Staves.SOURCE
    most_measures: int = BEGINNERS_MEASURES
    left_handed: bool = False
    template: Path | None = None
    fonts: Path | None = None


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
    """

    kind: str
    score: Score
    staves: Staves | str
    subtitle: str = ""
    instruction: str = ""
    wants: Wants = field(default_factory=Wants)
    version: Version


@dataclass(frozen=True, slots=True)
class Handout:
    """A handout that is ready.

    Args:
        pdf: The file.
        log: What is not on paper, or not as it stood.
        engravings: The music of each sheet, in order.
    """

    pdf: bytes = field(repr=False)
    log: tuple[Change, ...]
    engravings: tuple[Engraving, ...] = field(repr=False, default=())

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
    first = [_reading(versions[0])] if reading else []
    return first + [_version(version, look) for version in versions]


def print_sheets(sheets: Sequence[Sheet], look: Look) -> Handout:
    """Return sheets as one PDF; see `handout`."""
    data, log, engravings = page_data(sheets, look)
    pdf = typeset(data, template=look.template, letters=Letters(look.fonts))
    return Handout(pdf, log, engravings)


def page_data(
    sheets: Sequence[Sheet], look: Look
) -> tuple[dict[str, Any], tuple[Change, ...], tuple[Engraving, ...]]:
    """Return what the template is given, what is not on paper, and the music of each sheet."""
    paper = paper_named(look.paper)
    printed = print_named(look.size)
    engravings = [_engraved(sheet, look, printed, paper) for sheet in sheets]
    if printed.landscape and not _fits(engravings, printed.page_mm(paper)[1]):
        # Lines of several players do not fit a page that lies on its long side.
        printed = replace(printed, landscape=False)
        engravings = [_engraved(sheet, look, printed, paper) for sheet in sheets]
    content = [
        _content(sheet, engraving, look, printed)
        for sheet, engraving in zip(sheets, engravings, strict=True)
    ]
    letters = Letters(look.fonts)
    data = _document(content, paper, printed, letters)
    log = [change for engraving in engravings for change in engraving.log]
    line = missing_line(_texts(content), letters)
    if line:
        log.append(Change(line, "sheet"))
    return data, tuple(dict.fromkeys(log)), tuple(engravings)


def _engraved(sheet: Sheet, look: Look, printed: Print, paper: Paper) -> Engraving:
    return engrave_prepared(
        prepare(sheet.score, staves=sheet.staves, wants=sheet.wants),
        sheet.score,
        printed=printed,
        width_mm=printed.content_mm(paper),
        most_measures=look.most_measures,
    )


def _fits(engravings: Iterable[Engraving], height_mm: float) -> bool:
    """Whether lines of music fit a page of a height: beside its head, alone, and most of them."""
    for engraving in engravings:
        heights = [system.height_mm / height_mm for system in engraving.systems]
        if heights and (heights[0] > _FIRST or max(heights) > _ALONE or median(heights) > _FIRST):
            return False
    return True


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
        "page": {"width": width, "height": height, "margin": printed.margin_mm},
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


def _content(sheet: Sheet, engraving: Engraving, look: Look, printed: Print) -> dict[str, Any]:
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
        "practises": list(map(breakable, sheet.version.practises)) if is_version else [],
        "systems": [_system(system, part) for system in engraving.systems],
        "legend": entries,
        "changed": changed if is_version else [],
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
