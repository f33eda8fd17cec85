"""The music for a page that holds many drawings: ids of its own, signs shared, measures marked.

The engraver's drawing of a line is taken apart: the signs of the music font go into one list
for the whole page, and the rest becomes one flat drawing with a ground under each measure, what
changed above it, and an area over it that can be pointed at. Lines that stand beside each
other are made equally high.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from lxml import etree

from variants.score import Part
from variants.sheets.engrave import Engraving, System, measures_text
from variants.sheets.engraved import SVG
from variants.sheets.fonts import width_em
from variants.sheets.review.compare import MeasureDifference
from variants.sheets.style import Print
from variants.sheets.svgtext import number

_MOVED = re.compile(r"translate\((-?[\d.]+), ?(-?[\d.]+)\)")
_XMLNS = re.compile(r' xmlns(:\w+)?="[^"]*"')
# Room around the staves that belongs to a measure, and over the line of a bracket, in staff
# heights of the engraver (720 units).
_AROUND = 120.0
_TAG_PT = 8.0
_LEADING = 1.15


@dataclass(frozen=True, slots=True)
class _Tag:
    """What changed in measures beside each other that differ alike."""

    left: float
    right: float
    lines: tuple[str, ...]
    title: str


@dataclass(frozen=True, slots=True)
class Line:
    """One line of music, taken apart.

    Args:
        system: The line as it was engraved.
        glyphs: Its signs of the music font by their id.
        body: The drawing without them.
        shift: By how much the drawing is moved to the right and down.
        box: Top, width and height of the drawing.
        tags: What changed, above its measures.
        alt: The line in words.
    """

    system: System
    glyphs: Mapping[str, str]
    body: str
    shift: tuple[float, float]
    box: tuple[float, float, float]
    tags: tuple[_Tag, ...]
    alt: str


def lines(
    engraving: Engraving,
    differences: Sequence[MeasureDifference],
    *,
    part: Part,
    prefix: str,
    printed: Print,
) -> list[Line]:
    """Return the lines of a version.

    Args:
        engraving: The version.
        differences: How its measures differ from the first version's.
        part: Its first part.
        prefix: Put before every id, so that no two drawings of a page share one.
        printed: Size of print.
    """
    by_measure = {one.measure: one for one in differences}
    return [_line(system, by_measure, part, prefix, printed) for system in engraving.systems]


def _line(
    system: System,
    differences: Mapping[int, MeasureDifference],
    part: Part,
    prefix: str,
    printed: Print,
) -> Line:
    root = etree.fromstring(system.svg.encode(), etree.XMLParser(huge_tree=True))
    inner = root.find(f"{{{SVG}}}svg")
    content = root if inner is None else inner
    margin = content.find(f"{{{SVG}}}g")
    group = content if margin is None else margin
    found = _MOVED.match(group.get("transform", ""))
    shift = (float(found.group(1)), float(found.group(2))) if found else (0.0, 0.0)
    glyphs = {
        str(glyph.get("id")): _text(glyph) for glyph in root.iterfind(f"{{{SVG}}}defs/{{{SVG}}}g")
    }
    for element in group.iter(f"{{{SVG}}}g"):
        if name := element.get("id"):
            element.set("id", prefix + name)
    body = "".join(_text(child) for child in group)
    _, top, width, height = (float(one) for one in str(content.get("viewBox")).split())
    here = {at: differences[at] for at in range(system.first, system.last + 1) if at in differences}
    words = ". ".join(_in_words(one) for one in here.values())
    name = measures_text(part, system.first, system.last)
    alt = f"Music, {name}" + (f". Changed: {words}" if words else "")
    tags = tuple(_tags(system, here, printed))
    return Line(system, glyphs, body, shift, (top, width, height), tags, alt)


def _text(element: etree._Element) -> str:
    # Inside an HTML page the names of XML are taken for granted.
    element.tail = None
    return _XMLNS.sub("", etree.tostring(element, encoding="unicode"))


def _in_words(one: MeasureDifference) -> str:
    detail = f" ({one.detail})" if one.detail else ""
    return f"measure {one.number}: {', '.join(one.kinds)}{detail}"


def _tags(system: System, here: Mapping[int, MeasureDifference], printed: Print) -> list[_Tag]:
    """Return the tags of a line; measures beside each other that differ alike share one."""
    groups: list[list[int]] = []
    for at, one in here.items():
        before = groups[-1][-1] if groups else -2
        if before == at - 1 and here[before].kinds == one.kinds:
            groups[-1].append(at)
        else:
            groups.append([at])
    found = []
    for group in groups:
        left, _ = _across(system, group[0])
        _, right = _across(system, group[-1])
        most = (right - left) / printed.units(_tag_pt(printed))
        kinds = here[group[0]].kinds
        title = ". ".join(_in_words(here[at]) for at in group)
        found.append(_Tag(left, right, tuple(_broken(kinds, most)), title[:1].upper() + title[1:]))
    return found


def _tag_pt(printed: Print) -> float:
    return _TAG_PT * printed.text_pt / 9.5


def _across(system: System, measure: int) -> tuple[float, float]:
    staves = [staff for staff in system.staves if staff.measure == measure - system.first]
    return min(staff.left for staff in staves), max(staff.right for staff in staves)


def _broken(kinds: Sequence[str], most_em: float) -> list[str]:
    """Return words in lines that are no wider than a number of ems, if they can be."""
    found: list[str] = []
    for kind in kinds:
        longer = f"{found[-1]} · {kind}" if found else ""
        if longer and width_em(longer, weight=600) < most_em:
            found[-1] = longer
        else:
            found.append(kind)
    return found


def row_heights(columns: Sequence[Sequence[Line]], printed: Print) -> list[tuple[float, float]]:
    """Return for each row of lines the top and the foot of all its drawings, tags included.

    Args:
        columns: The lines of each version.
        printed: Size of print.
    """
    most = max(map(len, columns), default=0)
    rows = []
    for index in range(most):
        row = [column[index] for column in columns if index < len(column)]
        top = min(one.box[0] - _over(one, printed) for one in row)
        rows.append((top, max(one.box[0] + one.box[2] for one in row)))
    return rows


def _over(one: Line, printed: Print) -> float:
    """Return the room that the tags of a line take above it."""
    most = max((len(tag.lines) for tag in one.tags), default=0)
    size = printed.units(_tag_pt(printed))
    return most * size * _LEADING + size * 0.7 if most else 0.0


def line_svg(one: Line, row: tuple[float, float], printed: Print) -> str:
    """Return a line as a drawing for the page, as high as its row.

    The part of it that is its own is named too: on paper nothing stands beside it.
    """
    size = printed.units(_tag_pt(printed))
    top, width, height = one.box
    over = _over(one, printed)
    x, y = one.shift
    grounds, areas = _measures(one.system)
    own = f"0 {number(top - over)} {number(width)} {number(height + over)}"
    view = f"0 {number(row[0])} {number(width)} {number(row[1] - row[0])}"
    sizes = f'viewBox="{view}" data-own="{own}" data-row="{view}"'
    shapes = [
        f'<svg class="line" role="img" aria-label={quoteattr(one.alt)} {sizes}>',
        f'<g transform="translate({number(x)},{number(y)})">{grounds}',
        f'<g class="ink" fill="#000" stroke="#000" color="#000">{one.body}</g>',
        *(_tag(tag, top - y - over, size) for tag in one.tags),
        f"{areas}</g></svg>",
    ]
    return "".join(shapes)


def _measures(system: System) -> tuple[str, str]:
    """Return a ground under each measure, and an area over it that can be pointed at."""
    grounds, areas = [], []
    for at in range(system.first, system.last + 1):
        staves = [staff for staff in system.staves if staff.measure == at - system.first]
        left, right = _across(system, at)
        top = min(staff.lines[0] for staff in staves) - _AROUND
        foot = max(staff.lines[-1] for staff in staves) + _AROUND
        box = (
            f'x="{number(left)}" y="{number(top)}" width="{number(right - left)}" '
            f'height="{number(foot - top)}" data-measure="{at}"'
        )
        grounds.append(f'<rect class="ground" {box} fill="none"/>')
        areas.append(f'<rect class="area" {box} fill="none" pointer-events="all"/>')
    return "".join(grounds), "".join(areas)


def _tag(tag: _Tag, top: float, size: float) -> str:
    """Return a bracket over what changed, and its words."""
    foot = top + (len(tag.lines) * _LEADING + 0.35) * size
    inset, drop = size * 0.25, size * 0.45
    left, right = tag.left + inset, tag.right - inset
    bracket = (
        f'<path d="M{number(left)} {number(foot + drop)} V{number(foot)} H{number(right)} '
        f'V{number(foot + drop)}" fill="none" stroke="#000" stroke-width="{number(size * 0.14)}"/>'
    )
    texts = "".join(
        f'<text x="{number(left + inset)}" y="{number(top + (index + 0.8) * _LEADING * size)}" '
        f'font-size="{number(size)}" font-weight="600">{escape(text)}</text>'
        for index, text in enumerate(tag.lines)
    )
    return f'<g class="tag"><title>{escape(tag.title)}</title>{bracket}{texts}</g>'


def glyph_defs(columns: Sequence[Sequence[Line]]) -> str:
    """Return every sign of the music font that the page uses, each once."""
    found: dict[str, str] = {}
    for column in columns:
        for one in column:
            found.update(one.glyphs)
    signs = "".join(found[name] for name in sorted(found))
    return f'<svg class="signs" aria-hidden="true" width="0" height="0"><defs>{signs}</defs></svg>'
