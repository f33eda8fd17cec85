"""From the engraver's drawing of one system to ours: plain, small, measured.

Ids other than those of note heads go, style sheets become attributes, letters are set anew
(`lettering`), the tab's own signs are added (`tabmarks`). What is measured on the way (where
staves, measures and letters stand) is kept for the page and for the tests.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping
from dataclasses import dataclass

from lxml import etree

from variants.score import Event, Note
from variants.sheets.lettering import SVG, Letter, Setter
from variants.sheets.restcounts import add_rest_syllables
from variants.sheets.settling import Settling, Stem
from variants.sheets.style import Print
from variants.sheets.tabgraces import add_tab_graces
from variants.sheets.tabwords import Sung, add_tab_syllables

_PATH = re.compile(r"M(-?[\d.]+)[ ,](-?[\d.]+) L(-?[\d.]+)[ ,](-?[\d.]+)\Z")
_FRET_PAD = 30.0
# Nothing stands nearer to the edge of a drawing.
_EDGE = 12.0
_MARGIN = 40.0
# A dot of a repeat sign, and how large it is on every staff; on one staff they stand nearer.
_DOT = re.compile(r"translate\((-?[\d.]+), ?(-?[\d.]+)\) scale\(([\d.]+)")
_DOT_SCALE = 0.9
_DOTS_APART = 500.0
# Heads of grace notes that are nearer to one another than this are struck together.
_ONE_COLUMN = 150.0


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

    root: etree._Element
    content: etree._Element
    width: float
    height: float
    staves: list[Staff]
    letters: list[Letter]
    frets: dict[str, tuple[float, float]]
    print: Print
    top: float = 0.0

    def grow(self, over: float, under: float) -> None:
        """Make room above and below what the engraver drew, in the drawing's units."""
        self.top += over
        self.height += under
        height = self.height + self.top
        factor = self.print.mm_per_pixel / 10
        inner = self.root.find(f"{{{SVG}}}svg")
        if inner is not None:
            inner.set("viewBox", f"0 {-self.top:g} {self.width:g} {height:g}")
        self.root.set("viewBox", f"0 0 {self.width / 10:g} {height / 10:g}")
        self.root.set("width", f"{self.width * factor:.3f}mm")
        self.root.set("height", f"{height * factor:.3f}mm")

    def name(self, title: str) -> None:
        """Say in words what the drawing shows."""
        element = etree.Element(f"{{{SVG}}}title")
        element.text = title
        self.root.insert(0, element)

    def to_svg(self) -> str:
        """Return the drawing as SVG text."""
        return etree.tostring(self.root, encoding="unicode")


def draw(
    svg: str,
    printed: Print,
    *,
    held: frozenset[str],
    harmonics: frozenset[str],
    sung: Sung,
) -> Drawing:
    """Return the engraver's drawing in our manner.

    Args:
        svg: The engraver's SVG of one page.
        printed: Size of print.
        held: Ids of fret numbers that are held over by a tie; they are put in brackets.
        harmonics: Ids of fret numbers that are harmonics; they are put in angle brackets.
        sung: What may be sung or counted on it.
    """
    parser = etree.XMLParser(
        remove_blank_text=True, remove_comments=True, remove_pis=True, huge_tree=True
    )
    root = etree.fromstring(svg.encode(), parser)
    add_tab_graces(root, sung.heads)
    add_tab_syllables(root, sung, printed)
    add_rest_syllables(root, printed)
    _clean(root)
    _two_dots(root)
    inner = root.find(f"{{{SVG}}}svg")
    content = root if inner is None else inner
    _, _, width, height = (float(one) for one in str(content.get("viewBox")).split())
    setter = Setter(printed, held, harmonics)
    setter.all_texts(root)
    staves = _staves(root)
    floor = max((staff.lines[-1] for staff in staves), default=0.0)
    stems, tab_stems = _stems(root)
    settling = Settling(setter.letters, setter.groups, floor)
    top, foot = settling.settle(stems, tab_stems, _heads(root, setter.letters, sung.heads))
    margin = content.find(f"{{{SVG}}}g")
    drawing = Drawing(
        root=root,
        content=content if margin is None else margin,
        width=width,
        height=height,
        staves=staves,
        letters=setter.letters,
        frets={},
        print=printed,
    )
    _open_lines(drawing)
    # Margins of the engraver's page are inside the drawing, letters are measured within them.
    over, under = max(0.0, _EDGE - top), max(0.0, foot + _EDGE + 2 * _MARGIN - height)
    if tab_stems:
        # The engraver left room for fingers that stand elsewhere now.
        high, low = extent(drawing.content)
        over = _EDGE - min(top, high)
        under = max(foot, low) + _EDGE + 2 * _MARGIN - height
    drawing.grow(over, under)
    return drawing


def _clean(root: etree._Element) -> None:
    for element in list(root.iter()):
        name = etree.QName(element).localname
        kind = element.get("class") or ""
        if name in ("style", "desc") or "placeholder" in kind or "Milestone" in kind.split(" ")[0]:
            parent = element.getparent()
            if parent is not None:
                parent.remove(element)
            continue
        if " id-" in kind:
            # A number that the engraver takes from what it drew before.
            element.set("class", " ".join(x for x in kind.split() if not x.startswith("id-")))
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
        root.attrib.pop(name, "")
    for inner in root.findall(f"{{{SVG}}}svg"):
        inner.attrib.pop("font-family", "")
        for name in ("fill", "stroke"):
            inner.set(name, "#000")
        inner.set("color", "#000")


def _two_dots(root: etree._Element) -> None:
    """Leave a repeat sign two dots on a tab too, where the engraver puts more and larger ones."""
    for barline in root.iter(f"{{{SVG}}}g"):
        if barline.get("class") != "barLine":
            continue
        sides: dict[str, list[tuple[float, etree._Element]]] = {}
        for dot in barline.findall(f"{{{SVG}}}use"):
            found = _DOT.match(dot.get("transform", ""))
            if found is not None and float(found.group(3)) > _DOT_SCALE:
                sides.setdefault(found.group(1), []).append((float(found.group(2)), dot))
        for x, dots in sides.items():
            for run in _runs(sorted(dots, key=lambda one: one[0])):
                for _, dot in run[1:-1]:
                    barline.remove(dot)
                for y, dot in (run[0], run[-1]):
                    dot.set("transform", f"translate({x}, {y:g}) scale({_DOT_SCALE}, {_DOT_SCALE})")


def _runs(dots: list[tuple[float, etree._Element]]) -> list[list[tuple[float, etree._Element]]]:
    """Return dots under one another in groups, one for each staff."""
    runs: list[list[tuple[float, etree._Element]]] = []
    for dot in dots:
        if runs and dot[0] - runs[-1][-1][0] < _DOTS_APART:
            runs[-1].append(dot)
        else:
            runs.append([dot])
    return runs


def _is_glyph(element: etree._Element) -> bool:
    parent = element.getparent()
    return parent is not None and etree.QName(parent).localname == "defs"


_PAIR = re.compile(r"(-?[\d.]+)[ ,](-?[\d.]+)")
_MOVED = re.compile(r"translate\((-?[\d.]+), ?(-?[\d.]+)\)")
# How far a sign of the music font reaches from its origin, at the engraver's size.
_SIGN_REACH = 260.0


def extent(group: etree._Element) -> tuple[float, float]:
    """Return the heights between which lines and signs are drawn, letters not counted."""
    heights: list[float] = []
    _gather(group, 0.0, heights)
    return min(heights, default=0.0), max(heights, default=0.0)


def _gather(element: etree._Element, down: float, heights: list[float]) -> None:
    for child in element:
        name = etree.QName(child).localname
        moved = _MOVED.match(child.get("transform", ""))
        here = down + (float(moved.group(2)) if moved else 0.0)
        if name == "use":
            heights += [here - _SIGN_REACH, here + _SIGN_REACH]
        elif name == "g" and child.get("stroke") != "none":
            # Margins of the page are one shift of everything, and are not counted here.
            _gather(child, here, heights)
        elif name in ("path", "polygon", "polyline") and not child.get("transform"):
            text = child.get("d") or child.get("points") or ""
            heights += [down + float(y) for _, y in _PAIR.findall(text)]


def _line(element: etree._Element) -> tuple[float, float, float, float] | None:
    found = _PATH.match(element.get("d", ""))
    return None if not found else tuple(float(one) for one in found.groups())  # type: ignore[return-value]


def _stems(root: etree._Element) -> tuple[list[Stem], list[Stem]]:
    """Return the stems of notes and those over a tab, each from left to right."""
    notes: list[Stem] = []
    tab: list[Stem] = []
    for group in root.iter(f"{{{SVG}}}g"):
        if group.get("class") != "stem":
            continue
        parent = group.getparent()
        found = tab if parent is not None and parent.get("class") == "tabDurSym" else notes
        for path in group.findall(f"{{{SVG}}}path"):
            line = _line(path)
            if line is not None:
                found.append((line[0], min(line[1], line[3]), max(line[1], line[3])))
    return sorted(notes), sorted(tab)


def _heads(
    root: etree._Element,
    letters: list[Letter],
    heads: Mapping[str, tuple[int, int, Event, Note]],
) -> dict[str, tuple[Hashable, float]]:
    """Return for each id of a note head or fret number its moment, and its height on the page."""
    spots = {one.id: (one.box[0], one.box[3]) for one in letters if one.kind == "fret"}
    for group in root.iter(f"{{{SVG}}}g"):
        if group.get("class") == "note":
            for use in group.iterfind(f"{{{SVG}}}g[@class='notehead']/{{{SVG}}}use"):
                found = _MOVED.match(use.get("transform", ""))
                if found is not None:
                    spots[group.get("id", "")] = (float(found.group(1)), float(found.group(2)))
    moments: dict[str, tuple[Hashable, float]] = {}
    graces: dict[tuple[int, int, int], list[float]] = {}
    for name, (x, y) in spots.items():
        if name in heads:
            part, measure, event, _ = heads[name]
            key, column = (part, measure, event.onset), -1
            if event.grace is not None:
                # Grace notes of two voices share a column, those of one voice do not.
                columns = graces.setdefault(key, [])
                near = [at for at, place in enumerate(columns) if abs(place - x) < _ONE_COLUMN]
                column = near[0] if near else len(columns)
                columns += [] if near else [x]
            moments[name] = ((*key, column), y)
    return moments


def _staves(root: etree._Element) -> list[Staff]:
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


def _open_staff(drawing: Drawing, staff: etree._Element, frets: list[tuple[str, Letter]]) -> None:
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
