"""From the engraver's drawing of one system to ours: plain, small, measured.

Ids other than those of note heads go, style sheets become attributes, letters are set anew
(`lettering`), the tab's own signs are added (`tabmarks`). What is measured on the way (where
staves, measures and letters stand) is kept for the page and for the tests.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from variants.sheets.lettering import SVG, Letter, Setter
from variants.sheets.style import Print

Element = etree._Element
_PATH = re.compile(r"M(-?[\d.]+)[ ,](-?[\d.]+) L(-?[\d.]+)[ ,](-?[\d.]+)\Z")
_FRET_PAD = 30.0


@dataclass(frozen=True, slots=True)
class Staff:
    """A staff of a measure, in the drawing's units (tenths of the engraver's pixel).

    Args:
        measure: Place of the measure in the system, from 0.
        left: Left end of its lines.
        right: Right end.
        lines: Heights of its lines, the top one first.
    """

    measure: int
    left: float
    right: float
    lines: tuple[float, ...]


@dataclass(slots=True)
class Drawing:
    """One system while it is worked on."""

    root: Element
    content: Element
    width: float
    height: float
    staves: list[Staff]
    letters: list[Letter]
    frets: dict[str, tuple[float, float]]
    print: Print

    def to_svg(self) -> str:
        """Return the drawing as SVG text."""
        return etree.tostring(self.root, encoding="unicode")


def draw(
    svg: str, printed: Print, *, held: frozenset[str], harmonics: frozenset[str]
) -> Drawing:
    """Return the engraver's drawing in our manner.

    Args:
        svg: The engraver's SVG of one page.
        printed: Size of print.
        held: Ids of fret numbers that are held over by a tie; they are put in brackets.
        harmonics: Ids of fret numbers that are harmonics; they are put in angle brackets.
    """
    parser = etree.XMLParser(remove_blank_text=True, huge_tree=True)
    root = etree.fromstring(svg.encode(), parser)
    _clean(root)
    inner = root.find(f"{{{SVG}}}svg")
    content = root if inner is None else inner
    _, _, width, height = (float(one) for one in str(content.get("viewBox")).split())
    setter = Setter(printed, held, harmonics)
    for text in list(root.iter(f"{{{SVG}}}text")):
        setter.text(text)
    margin = content.find(f"{{{SVG}}}g")
    drawing = Drawing(
        root=root,
        content=content if margin is None else margin,
        width=width,
        height=height,
        staves=_staves(root),
        letters=setter.letters,
        frets={},
        print=printed,
    )
    _open_lines(drawing)
    factor = printed.mm_per_pixel / 10
    root.set("viewBox", f"0 0 {width / 10:g} {height / 10:g}")
    root.set("width", f"{width * factor:.3f}mm")
    root.set("height", f"{height * factor:.3f}mm")
    return drawing


def _clean(root: Element) -> None:
    for element in list(root.iter()):
        if not isinstance(element.tag, str):
            continue
        name = etree.QName(element).localname
        kind = element.get("class") or ""
        if name in ("style", "desc") or "placeholder" in kind or "Milestone" in kind.split(" ")[0]:
            parent = element.getparent()
            if parent is not None:
                parent.remove(element)
            continue
        given = element.get("id", "")
        if name == "g" and element.getparent() is not None and _is_glyph(element):
            element.set("id", "glyph-" + given.split("-")[0])
        elif given and kind != "note":
            del element.attrib["id"]
        for link in ("href", "{http://www.w3.org/1999/xlink}href"):
            if name == "use" and link in element.attrib:
                target = str(element.get(link)).removeprefix("#").split("-")[0]
                element.set(link, f"#glyph-{target}")
    for name in ("id", "overflow"):
        root.attrib.pop(name, None)
    for inner in root.findall(f"{{{SVG}}}svg"):
        inner.attrib.pop("font-family", None)
        for name in ("fill", "stroke"):
            inner.set(name, "#000")
        inner.set("color", "#000")


def _is_glyph(element: Element) -> bool:
    parent = element.getparent()
    return parent is not None and etree.QName(parent).localname == "defs"


def _line(element: Element) -> tuple[float, float, float, float] | None:
    found = _PATH.match(element.get("d", ""))
    return None if not found else tuple(float(one) for one in found.groups())  # type: ignore[return-value]


def _staves(root: Element) -> list[Staff]:
    found = []
    measures = [g for g in root.iter(f"{{{SVG}}}g") if g.get("class") == "measure"]
    for index, measure in enumerate(measures):
        for staff in measure.iterchildren(f"{{{SVG}}}g"):
            if staff.get("class") != "staff":
                continue
            lines = [line for path in staff.findall(f"{{{SVG}}}path") if (line := _line(path))]
            if lines:
                heights = tuple(sorted({line[1] for line in lines}))
                left, right = min(line[0] for line in lines), max(line[2] for line in lines)
                found.append(Staff(index, left, right, heights))
    return found


def _open_lines(drawing: Drawing) -> None:
    """Give each fret number a gap in its line that fits it, and remember where it stands."""
    boxes = {letter.id: letter for letter in drawing.letters if letter.kind == "fret"}
    for staff in drawing.root.iter(f"{{{SVG}}}g"):
        if staff.get("class") != "staff":
            continue
        ids = [
            str(note.get("id"))
            for note in staff.iter(f"{{{SVG}}}g")
            if note.get("class") == "note" and note.get("id") in boxes
        ]
        if ids:
            _open_staff(drawing, staff, [(name, boxes[name]) for name in ids])


def _open_staff(drawing: Drawing, staff: Element, frets: list[tuple[str, Letter]]) -> None:
    paths = [(path, line) for path in staff.findall(f"{{{SVG}}}path") if (line := _line(path))]
    if not paths:
        return
    gaps: dict[float, list[tuple[float, float]]] = {}
    ends: dict[float, tuple[float, float]] = {}
    for _, (x1, y, x2, _y) in paths:
        low, high = ends.get(y, (x1, x2))
        ends[y] = (min(low, x1), max(high, x2))
    for name, letter in frets:
        left, top, right, bottom = letter.box
        middle = bottom - (bottom - top) * 0.22 / 0.97 - (bottom - top) / 0.97 * 0.325
        y = min(ends, key=lambda height: abs(height - middle))
        drawing.frets[name] = ((left + right) / 2, y)
        gaps.setdefault(y, []).append((left - _FRET_PAD, right + _FRET_PAD))
    width = paths[0][0].get("stroke-width", "13")
    first = paths[0][0]
    at = staff.index(first)
    for path, _ in paths:
        staff.remove(path)
    for y, (left, right) in sorted(ends.items(), reverse=True):
        for start, stop in _pieces(left, right, sorted(gaps.get(y, []))):
            d = f"M{start:g} {y:g} L{stop:g} {y:g}"
            path = etree.Element(f"{{{SVG}}}path", {"d": d, "stroke-width": width})
            staff.insert(at, path)


def _pieces(
    left: float, right: float, gaps: list[tuple[float, float]]
) -> list[tuple[float, float]]:
    pieces = []
    for start, stop in gaps:
        if start > left:
            pieces.append((left, start))
        left = max(left, stop)
    if right > left:
        pieces.append((left, right))
    return pieces
