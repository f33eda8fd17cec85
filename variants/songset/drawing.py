"""Sheets of a unit: the PDF, the drawing, the page, the sound, and the first line as a picture."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from variants.errors import UsageError
from variants.score import Score, with_parts
from variants.sheets import (
    Handout,
    Look,
    Version,
    engrave,
    one_drawing,
    print_sheets,
    to_midi,
)
from variants.sheets.engrave import Engraving
from variants.sheets.handout import version_sheets
from variants.sheets.style import paper_named, print_named

_PICTURE_MM = 150.0


def drawn(kind: str, version: Version, staves: str, look: Mapping[str, Any]) -> bytes:
    """Return a file of one variant.

    Args:
        kind: ``pdf``, ``svg`` or ``midi``.
        version: The variant.
        staves: Its staves.
        look: How it is printed.

    Raises:
        NeckwiseError: It cannot be drawn.
    """
    if kind == "midi":
        return to_midi(version.score)
    if kind == "pdf":
        return handout_of([(version, staves)], look).pdf
    if kind == "svg":
        drawing = one_drawing(_engraved(version.score, staves, look), title=version.score.title)
        return drawing.svg.encode()
    raise UsageError(f"there is no output {kind!r}", way_out="use pdf, svg or midi")


def handout_of(versions: Sequence[tuple[Version, str]], look: Mapping[str, Any]) -> Handout:
    """Return variants as one PDF, each with its own staves.

    Args:
        versions: The variants with their staves, in order.
        look: How it is printed.
    """
    wishes = look_of(look)
    sheets = version_sheets([one for one, _ in versions], wishes, reading=False)
    return print_sheets(
        [
            replace(sheet, staves=staves)
            for sheet, (_, staves) in zip(sheets, versions, strict=True)
        ],
        wishes,
    )


def review_of(versions: Sequence[tuple[Version, str]], look: Mapping[str, Any]) -> bytes:
    """Return variants side by side as one page for a browser, each with its own staves.

    Args:
        versions: The variants with their staves, in order.
        look: How they are drawn.
    """
    from variants.sheets.review import review_page

    laid = [replace(one, score=_laid_out(one.score, staves)) for one, staves in versions]
    return review_page(laid, look_of(look)).html


def _laid_out(score: Score, staves: str) -> Score:
    """Return a score whose fretted parts ask for the staves that its file has."""
    return with_parts(
        score,
        [part if part.instrument is None else replace(part, layout=staves) for part in score.parts],
    )


def look_of(look: Mapping[str, Any]) -> Look:
    """Return how sheets are printed, from the values of a set file."""
    return Look(
        paper=look["paper"],
        size=look["size"],
        most_measures=look["measures"],
        left_handed=look["left_handed"],
    )


def _engraved(score: Score, staves: str, look: Mapping[str, Any]) -> Engraving:
    return engrave(
        score,
        staves=staves,
        width_mm=print_named(look["size"]).content_mm(paper_named(look["paper"])),
        size=look["size"],
        most_measures=look["measures"],
    )


def first_line(score: Score, staves: str) -> bytes:
    """Return the first line of a score as an SVG drawing, for the index page."""
    engraving = engrave(score, staves=staves, width_mm=_PICTURE_MM)
    first = replace(engraving, systems=engraving.systems[:1])
    return one_drawing(first, title=score.title).svg.encode()
