"""From the engraver's drawing of one system to ours: plain, small, measured.

Ids other than those of note heads go, style sheets become attributes, letters are set anew
(`lettering`), the tab's own signs are added (`tabmarks`). What is measured on the way (where
staves, measures and letters stand) is kept for the page and for the tests.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass

from lxml import etree

from variants.score import Event, Note
from variants.sheets import lengths
from variants.sheets.engraved import (
    PATH,
    POLYLINE,
    SVG,
    USE,
    G,
    ends,
    groups,
    line,
    numbers,
    spot,
    staff_lines,
    staves,
)
from variants.sheets.left_out import Sung, add_left_out
from variants.sheets.lettering import Letter, Setter
from variants.sheets.settling import Settling, Stem
from variants.sheets.style import Print

_SHAPES = (PATH, POLYLINE, POLYLINE.replace("line", "gon"))
# How large a dot of a repeat sign is on every staff.
_DOT_SCALE = 0.9


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
    add_left_out(root, sung, printed)
    _clean(root)
    _two_dots(root)
    inner = root.find(f"{{{SVG}}}svg")
    content = root if inner is None else inner
    _, _, width, height = (float(one) for one in str(content.get("viewBox")).split())
    setter = Setter(printed, held, harmonics)
    setter.all_texts(root)
    found = _staves(root)
    lines = [line for staff in found for line in staff.lines] or [0.0]
    stems, tab_stems = _stems(root)
    settling = Settling(setter.letters, setter.groups, (min(lines), max(lines)))
    top, foot = settling.settle(stems, tab_stems, _heads(root, setter.letters, sung.heads))
    margin = content.find(f"{{{SVG}}}g")
    drawing = Drawing(
        root=root,
        content=content if margin is None else margin,
        width=width,
        height=height,
        staves=found,
        letters=setter.letters,
        frets={},
        print=printed,
    )
    _open_lines(drawing)
    # Margins of the engraver's page are inside the drawing, letters are measured within them.
    margins = lengths.EDGE + 2 * lengths.MARGIN
    over, under = max(0.0, lengths.EDGE - top), max(0.0, foot + margins - height)
    if tab_stems:
        # The engraver left room for fingers that stand elsewhere now.
        high, low = extent(drawing.content)
        over = lengths.EDGE - min(top, high)
        under = max(foot, low) + margins - height
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
    for barline in groups(root, "barLine"):
        sides: dict[float, list[tuple[float, etree._Element]]] = {}
        for dot in barline.iterchildren(USE):
            found = spot(dot)
            if found is not None and found.scale > _DOT_SCALE:
                sides.setdefault(found.x, []).append((found.y, dot))
        for x, dots in sides.items():
            for run in _runs(sorted(dots, key=lambda one: one[0])):
                for _, dot in run[1:-1]:
                    barline.remove(dot)
                for y, dot in (run[0], run[-1]):
                    dot.set(
                        "transform", f"translate({x:g}, {y:g}) scale({_DOT_SCALE}, {_DOT_SCALE})"
                    )


def _runs(dots: list[tuple[float, etree._Element]]) -> list[list[tuple[float, etree._Element]]]:
    """Return dots under one another in groups, one for each staff."""
    runs: list[list[tuple[float, etree._Element]]] = []
    for dot in dots:
        if runs and dot[0] - runs[-1][-1][0] < lengths.DOTS_APART:
            runs[-1].append(dot)
        else:
            runs.append([dot])
    return runs


def _is_glyph(element: etree._Element) -> bool:
    parent = element.getparent()
    return parent is not None and etree.QName(parent).localname == "defs"


def extent(group: etree._Element) -> tuple[float, float]:
    """Return the heights between which lines and signs are drawn, letters not counted."""
    heights: list[float] = []
    _gather(group, 0.0, heights)
    return min(heights, default=0.0), max(heights, default=0.0)


def _gather(element: etree._Element, down: float, heights: list[float]) -> None:
    for child in element:
        found = spot(child)
        here = down + (found.y if found else 0.0)
        if child.tag == USE:
            code = child.get("href", "").removeprefix("#glyph-")[:4]
            low = lengths.LOW_CLEFS.get(code, lengths.SIGN_REACH)
            heights += [here - lengths.SIGN_REACH, here + low]
        elif child.tag == G and child.get("stroke") != "none":
            # Margins of the page are one shift of everything, and are not counted here.
            _gather(child, here, heights)
        elif child.tag in _SHAPES and not child.get("transform"):
            points = numbers(child.get("d") or child.get("points") or "")
            heights += [down + y for y in points[1::2]]


def _stems(root: etree._Element) -> tuple[list[Stem], list[Stem]]:
    """Return the stems of notes and those over a tab, each from left to right."""
    notes: list[Stem] = []
    tab: list[Stem] = []
    for group in groups(root, "stem"):
        parent = group.getparent()
        found = tab if parent is not None and parent.get("class") == "tabDurSym" else notes
        for path in group.iterchildren(PATH):
            if stem := line(path):
                found.append((stem.x1, min(stem.y1, stem.y2), max(stem.y1, stem.y2)))
    return sorted(notes), sorted(tab)


def _heads(
    root: etree._Element,
    letters: list[Letter],
    heads: Mapping[str, tuple[int, int, Event, Note]],
) -> dict[str, tuple[Hashable, float]]:
    """Return for each id of a note head or fret number its moment, and its height on the page."""
    spots = {one.id: (one.box[0], one.box[3]) for one in letters if one.kind == "fret"}
    for group in groups(root, "note"):
        for use in group.iterfind(f"{G}[@class='notehead']/{USE}"):
            if found := spot(use):
                spots[group.get("id", "")] = (found.x, found.y)
    moments: dict[str, tuple[Hashable, float]] = {}
    graces: dict[tuple[int, int, int], list[float]] = {}
    for name, (x, y) in spots.items():
        if name in heads:
            part, measure, event, _ = heads[name]
            key, column = (part, measure, event.onset), -1
            if event.grace is not None:
                # Grace notes of two voices share a column, those of one voice do not.
                columns = graces.setdefault(key, [])
                near = [
                    at for at, place in enumerate(columns) if abs(place - x) < lengths.ONE_COLUMN
                ]
                column = near[0] if near else len(columns)
                columns += [] if near else [x]
            moments[name] = ((*key, column), y)
    return moments


def _staves(root: etree._Element) -> list[Staff]:
    found = []
    for index, measure in enumerate(groups(root, "measure")):
        for staff in staves(measure):
            if lines := [one for _, one in staff_lines(staff)]:
                heights = tuple(sorted({one.y1 for one in lines}))
                found.append(Staff(index, *ends(staff), heights))
    return found


def _open_lines(drawing: Drawing) -> None:
    """Give each fret number a gap in its line that fits it, and remember where it stands."""
    boxes = {letter.id: letter for letter in drawing.letters if letter.kind == "fret"}
    for staff in groups(drawing.root, "staff"):
        ids = [str(note.get("id")) for note in groups(staff, "note") if note.get("id") in boxes]
        if ids:
            _open_staff(drawing, staff, [(name, boxes[name]) for name in ids])


def _open_staff(drawing: Drawing, staff: etree._Element, frets: list[tuple[str, Letter]]) -> None:
    paths = staff_lines(staff)
    if not paths:
        return
    gaps: dict[float, list[tuple[float, float]]] = {}
    reach: dict[float, tuple[float, float]] = {}
    for _, one in paths:
        low, high = reach.get(one.y1, (one.x1, one.x2))
        reach[one.y1] = (min(low, one.x1), max(high, one.x2))
    for name, letter in frets:
        left, _, right, _ = letter.box
        y = min(reach, key=lambda height: abs(height - letter.middle))
        drawing.frets[name] = ((left + right) / 2, y)
        gaps.setdefault(y, []).append((left - lengths.FRET_PAD, right + lengths.FRET_PAD))
    first = paths[0][0]
    width, at = first.get("stroke-width", "13"), staff.index(first)
    for path, _ in paths:
        staff.remove(path)
    for y, (left, right) in sorted(reach.items(), reverse=True):
        for start, stop in _pieces(left, right, sorted(gaps.get(y, []))):
            d = f"M{start:g} {y:g} L{stop:g} {y:g}"
            staff.insert(at, etree.Element(PATH, {"d": d, "stroke-width": width}))


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
