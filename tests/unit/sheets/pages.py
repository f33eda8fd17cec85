"""Reads drawings and pages again: where signs, letters and pictures stand."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from lxml import etree

from variants.finish import finish
from variants.musicxml import read
from variants.score import Score
from variants.sheets.fonts import Letters
from variants.sheets.handout import Look, Sheet, page_data
from variants.sheets.typesetter import template_text

ROOT = Path(__file__).parents[3]
SAMPLES = sorted((ROOT / "samples").glob("*.musicxml"))
GUITAR_SAMPLES = [path for path in SAMPLES if path.stem != "amazing-grace"]
SVG = "{http://www.w3.org/2000/svg}"
MM_PER_POINT = 25.4 / 72
_TRANSLATE = re.compile(r"translate\((-?[\d.]+)(?:[ ,]+(-?[\d.]+))?\)")
_MATRIX = re.compile(r"matrix\(([-\d. ]+)\)")

Matrix = tuple[float, float, float, float, float, float]
_SAME: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)


@lru_cache(maxsize=16)
def fingered(path: Path) -> Score:
    """Return a sample with places and fingers."""
    return finish(read(path)).score


@dataclass(frozen=True, slots=True)
class Seen:
    """A shape on a page: what it is and its box in millimetres."""

    kind: str
    left: float
    top: float
    right: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Page:
    """A page: its size in millimetres and what stands on it."""

    width: float
    height: float
    shapes: tuple[Seen, ...]


def pages(sheets: Sequence[Sheet], look: Look) -> tuple[dict[str, Any], list[Page]]:
    """Return what the template was given, and every page that it makes."""
    data, _, _ = page_data(sheets, look)
    return data, set_pages(data, look)


def set_pages(data: dict[str, Any], look: Look) -> list[Page]:
    """Return the pages that the template makes of what it is given."""
    import typst

    made: Any = typst.compile(
        template_text(look.template).encode(),
        font_paths=Letters(look.fonts).set_up(),
        ignore_system_fonts=True,
        format="svg",
        sys_inputs={"data": json.dumps(data)},
    )
    # Its type information knows of one page only.
    return [_page(svg) for svg in (made if isinstance(made, list) else [made])]


def _page(svg: bytes) -> Page:
    root = etree.fromstring(svg, etree.XMLParser(huge_tree=True))
    _, _, width, height = (float(one) for one in str(root.get("viewBox")).split())
    scale = MM_PER_POINT
    return Page(width * scale, height * scale, tuple(_shapes(root, _SAME)))


def _shapes(element: etree._Element, matrix: Matrix) -> Iterator[Seen]:
    for child in element:
        if child.tag == f"{SVG}defs":
            continue
        here = _times(matrix, _matrix(child.get("transform", "")))
        if child.tag in (f"{SVG}use", f"{SVG}image"):
            x, y, width, height = (
                float(child.get(name, 0)) for name in ("x", "y", "width", "height")
            )
            corners = [_at(here, x, y), _at(here, x + width, y + height)]
            xs, ys = sorted(c[0] for c in corners), sorted(c[1] for c in corners)
            box = (xs[0], ys[0], xs[1], ys[1])
            kind = child.tag.removeprefix(SVG)
            yield Seen(kind, *(one * MM_PER_POINT for one in box))
        yield from _shapes(child, here)


def _matrix(text: str) -> Matrix:
    if found := _MATRIX.search(text):
        a, b, c, d, e, f = (float(one) for one in found.group(1).split())
        return a, b, c, d, e, f
    if found := _TRANSLATE.search(text):
        return 1.0, 0.0, 0.0, 1.0, float(found.group(1)), float(found.group(2) or 0)
    return _SAME


def _times(one: Matrix, two: Matrix) -> Matrix:
    a, b, c, d, e, f = one
    g, h, i, j, k, m = two
    return (
        a * g + c * h,
        b * g + d * h,
        a * i + c * j,
        b * i + d * j,
        a * k + c * m + e,
        b * k + d * m + f,
    )


def _at(matrix: Matrix, x: float, y: float) -> tuple[float, float]:
    a, b, c, d, e, f = matrix
    return a * x + c * y + e, b * x + d * y + f


def note_groups(svg: str) -> dict[str, etree._Element]:
    """Return the drawing's group of each note head by its id; each id once."""
    found: dict[str, etree._Element] = {}
    for group in etree.fromstring(svg.encode()).iter(f"{SVG}g"):
        name = group.get("id", "")
        if name and group.get("class") == "note":
            assert name not in found
            found[name] = group
    return found


def head_at(group: etree._Element) -> tuple[float, float]:
    """Return the left edge and the height of a note head."""
    head = group.find(f"{SVG}g[@class='notehead']")
    assert head is not None
    return head_at_use(head)


def head_at_use(group: etree._Element) -> tuple[float, float]:
    """Return where the first sign of the music font in a group stands."""
    use = group.find(f"{SVG}use")
    assert use is not None
    moved = _TRANSLATE.search(str(use.get("transform")))
    assert moved is not None
    return float(moved.group(1)), float(moved.group(2))


def text_in(group: etree._Element) -> str:
    """Return the letters of a group."""
    return "".join(str(piece) for piece in group.itertext())
