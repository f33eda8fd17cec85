"""Puts the review page into one file: it fetches nothing and runs nothing but its own script."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from html import escape
from importlib import resources
from typing import Any

from variants.cautions import footer_text
from variants.errors import UsageError
from variants.score import Change
from variants.score.playing import playing
from variants.sheets.engrave import engrave_alike
from variants.sheets.engraver_xml import Wants, prepare
from variants.sheets.fonts import Letters, missing_letters
from variants.sheets.handout import Look, Version
from variants.sheets.review import markup
from variants.sheets.review.compare import compare
from variants.sheets.review.drawings import glyph_defs, line_svg, lines, row_heights
from variants.sheets.review.letters import font_faces
from variants.sheets.review.markup import Column
from variants.sheets.review.timeline import timeline
from variants.sheets.style import print_named

# In the order in which they stand in the page; each uses what stands before it.
SCRIPT = (
    "time.js",
    "pluck.js",
    "mix.js",
    "player.js",
    "follow.js",
    "controls.js",
    "keys.js",
    "main.js",
)
# Two to four measures at the normal size; some columns fit a screen beside each other.
LINE_MM = 132.0
_SLOT = re.compile(r"\{\{(\w+)\}\}")
_TAG = re.compile(r"<[^>]*>")


@dataclass(frozen=True, slots=True)
class ReviewPage:
    """A review page that is ready.

    Args:
        html: The file.
        log: What is not on the page, or not as it stood.
    """

    html: bytes = field(repr=False)
    log: tuple[Change, ...]


def review_page(versions: Sequence[Version], look: Look | None = None) -> ReviewPage:
    """Return the review page of versions.

    Args:
        versions: The versions in order; the others are compared with the first one.
        look: How they are drawn; the paper does not matter.

    Raises:
        UsageError: No version, or a look that does not exist.
        OutputError: The engraver fails, or is not installed.
    """
    if not versions:
        raise UsageError("there is nothing to show", way_out="name at least one file")
    look = look or Look()
    columns, glyphs, log = _columns(versions, look)
    letters = Letters(look.fonts)
    body = _body(columns, glyphs, look)
    shown = _TAG.sub(" ", body)
    gone = missing_letters(shown, letters)
    if gone:
        text = f"no font here has {gone}: the page shows them only where the reader has such a font"
        log.append(Change(f"{text}; name a folder that holds one (--fonts)", "sheet"))
    return ReviewPage(_file(body, font_faces(shown, letters), look).encode(), tuple(log))


def _columns(versions: Sequence[Version], look: Look) -> tuple[list[Column], str, list[Change]]:
    """Return the versions with their music drawn, the signs of the music font, and the log."""
    printed = print_named(look.size)
    engravings = engrave_alike(
        [(prepare(one.score, staves=look.staves, wants=Wants()), one.score) for one in versions],
        printed=printed,
        width_mm=line_mm(look),
        most_measures=look.most_measures,
    )
    comparisons = [compare(versions[0].score, one.score) for one in versions]
    drawn = [
        lines(
            engraving,
            comparison.measures,
            part=version.score.parts[0],
            prefix=f"v{index}-",
            printed=printed,
        )
        for index, (version, engraving, comparison) in enumerate(
            zip(versions, engravings, comparisons, strict=True)
        )
    ]
    rows = row_heights(drawn, printed)
    columns = [
        Column(
            version,
            version.name or version.score.title or f"Version {index}",
            comparison,
            [line_svg(one, row, printed) for one, row in zip(here, rows, strict=False)],
        )
        for index, (version, comparison, here) in enumerate(
            zip(versions, comparisons, drawn, strict=True), 1
        )
    ]
    log = dict.fromkeys(change for engraving in engravings for change in engraving.log)
    log |= dict.fromkeys(
        Change(f"order of playing: {doubt}", "sheet")
        for version in versions
        for doubt in playing(version.score).doubts
    )
    return columns, glyph_defs(drawn), list(log)


def line_mm(look: Look) -> float:
    """Return how wide a line of music is on paper: as many staff heights at every size."""
    return LINE_MM * print_named(look.size).staff_mm / print_named("normal").staff_mm


def _body(columns: Sequence[Column], glyphs: str, look: Look) -> str:
    first = columns[0]
    title = first.version.score.title or "Untitled"
    numbers = [measure.number for measure in first.version.score.parts[0].measures]
    choices = [(str(index), number) for index, number in enumerate(numbers)]
    slots = {
        "title": escape(title),
        "makers": markup.makers(first.version),
        "chooser": markup.chooser(columns),
        "versions_to_hear": markup.options(
            [(str(index), column.name) for index, column in enumerate(columns)], "0"
        ),
        "measures_from": markup.options(choices, "0"),
        "measures_to": markup.options(choices, str(len(choices) - 1)),
        "articles": "".join(
            markup.article(column, index, first, look) for index, column in enumerate(columns)
        ),
        "signs": markup.signs(columns, look),
        "cautions": escape(footer_text()),
        "glyphs": glyphs,
        "data": _json({"versions": [_heard(column) for column in columns]}),
    }
    return _filled(_own("body.html"), slots)


def _heard(column: Column) -> dict[str, Any]:
    return {"name": column.name, **timeline(column.version.score)}


def _json(value: object) -> str:
    """Return JSON that no HTML parser takes for the end of a script or a comment."""
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _file(body: str, fonts: str, look: Look) -> str:
    width = f":root{{--line-mm:{line_mm(look):g}mm;--line-rem:{line_mm(look) / 4.9:.4g}rem}}"
    style = f"{fonts}\n{width}\n{_own('page.css')}"
    script = (
        f'"use strict";\n(() => {{\n{"".join(_own(f"script/{name}") for name in SCRIPT)}}})();\n'
    )
    title = re.search(r"<h1[^>]*>(.*?)</h1>", body, re.DOTALL)
    slots = {
        "title": title.group(1) if title else "",
        "style": style,
        "style_hash": _hash(style),
        "script": script,
        "script_hash": _hash(script),
        "size": look.size,
        "body": body,
    }
    return _filled(_own("page.html"), slots)


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def _filled(text: str, slots: dict[str, str]) -> str:
    # All at once, so that nothing in a title is ever taken for a slot.
    return _SLOT.sub(lambda found: slots[found.group(1)], text)


def _own(name: str) -> str:
    return (resources.files("variants.sheets.review") / name).read_text(encoding="utf-8")
