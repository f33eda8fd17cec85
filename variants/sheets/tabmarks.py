"""Signs in the tab that the engraver does not draw: bends, slides, hammer-ons and pull-offs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lxml import etree

from variants.score import Event, Note
from variants.sheets import lengths
from variants.sheets.drawing import Drawing
from variants.sheets.engraved import PATH, TEXT
from variants.sheets.lettering import FAMILY, Letter
from variants.sheets.signs import bend_text

Heads = dict[str, tuple[int, int, Event, Note]]
_LINKS = {"hammer-on": "H", "pull-off": "P", "slide": "", "glissando": "", "slur": ""}
# A tab under notation leaves these to it.
_ARCS = frozenset({"hammer-on", "pull-off", "slur"})
_ONLY_ALONE = frozenset({"slur"})
_DOUBLED = "t"
# Half the width of a letter, in ems, as far as room is kept for it.
_HALF_LETTER = 0.3


@dataclass(frozen=True, slots=True)
class _Link:
    kind: str
    start: str
    stop: str
    rises: bool


def add_tab_marks(drawings: Sequence[Drawing], heads: Heads) -> None:
    """Draw into each system's tab what the engraver leaves out.

    Args:
        drawings: The systems in order; they are drawn into.
        heads: Part, measure, event and note of each id.
    """
    where = {name: drawing for drawing in drawings for name in drawing.frets}
    for link in _links(heads, where):
        _draw_link(link, where)
    for name, drawing in where.items():
        bends = [mark.xml for mark in heads[name][3].marks if mark.name == "bend"]
        if bends:
            _bend(drawing, name, bends)


def _links(heads: Heads, where: dict[str, Drawing]) -> list[_Link]:
    """Return pairs of fret numbers that a technique joins."""
    waiting: dict[tuple[int, str, str], str] = {}
    found = []
    for name, (part, _, event, note) in heads.items():
        if name not in where or note.place is None:
            continue
        first = event.notes[0] is note
        for mark in sorted(
            (*note.marks, *(event.marks if first else ())), key=lambda one: one.role != "stop"
        ):
            doubled = name.startswith(_DOUBLED) and mark.name in _ONLY_ALONE
            if mark.name not in _LINKS or doubled:
                continue
            key = (part, mark.name, mark.number or "1")
            if mark.role == "stop" and key in waiting:
                start = waiting.pop(key)
                before = heads[start][3].place
                rises = before is not None and before.fret <= note.place.fret
                found.append(_Link(mark.name, start, name, rises))
            elif mark.role == "start":
                waiting[key] = name
    return found


def _draw_link(link: _Link, where: dict[str, Drawing]) -> None:
    first, second = where[link.start], where[link.stop]
    boxes = {
        letter.id: letter for letter in (*first.letters, *second.letters) if letter.kind == "fret"
    }
    gap = lengths.SLIDE_GAP
    left, right = boxes[link.start].box[2] + gap, boxes[link.stop].box[0] - gap
    y1, y2 = first.frets[link.start][1], second.frets[link.stop][1]
    if first is second:
        _one(first, link, (left, y1), (right, y2))
        return
    # Over the end of a line: half a sign on each.
    end = max(staff.right for staff in first.staves) - lengths.OVER_END
    _one(first, link, (left, y1), (end, y1))
    _one(second, link, (right - lengths.OVER_START, y2), (right, y2))


def _one(
    drawing: Drawing, link: _Link, start: tuple[float, float], stop: tuple[float, float]
) -> None:
    (x1, y1), (x2, y2) = start, stop
    thick = lengths.SIGN_THICK[drawing.print.name]
    if link.kind not in _ARCS:
        rise = lengths.SLIDE_RISE if link.rises else -lengths.SLIDE_RISE
        _path(drawing, f"M{x1:g} {y1 + rise:g} L{x2:g} {y2 - rise:g}", width=thick)
        return
    top, middle = min(y1, y2) - lengths.ARC_TOP, (x1 + x2) / 2
    x1, x2 = x1 - lengths.ARC_IN, x2 + lengths.ARC_IN
    y1, y2, bend = y1 - lengths.ARC_FOOT, y2 - lengths.ARC_FOOT, top - lengths.ARC_BEND
    _path(drawing, f"M{x1:g} {y1:g} Q{middle:g} {bend:g} {x2:g} {y2:g}", width=thick)
    if _LINKS[link.kind]:
        _words(drawing, _LINKS[link.kind], (middle, top - lengths.ARC_LETTER))


def _bend(drawing: Drawing, name: str, bends: Sequence[str]) -> None:
    """Draw an arrow that leaves the fret number and rises above the staff."""
    y = drawing.frets[name][1]
    box = next(
        letter.box for letter in drawing.letters if letter.kind == "fret" and letter.id == name
    )
    lines = next(
        (staff.lines for staff in drawing.staves if y in staff.lines and len(staff.lines) > 1), (y,)
    )
    top = min(lines) - lengths.BEND_TOP
    start, tip = box[2] + lengths.BEND_FROM, box[2] + lengths.BEND_OUT
    turn, knee, neck = tip - lengths.BEND_CURVE, y - lengths.BEND_KNEE, top + lengths.BEND_NECK
    _path(
        drawing,
        f"M{start:g} {y:g} C{turn:g} {y:g} {tip:g} {knee:g} {tip:g} {neck:g}",
        width=lengths.SIGN_THICK[drawing.print.name],
    )
    half, foot = lengths.ARROW_HALF, top + lengths.ARROW_LONG
    _path(
        drawing,
        f"M{tip - half:g} {foot:g} L{tip + half:g} {foot:g} L{tip:g} {top:g} Z",
        filled=True,
    )
    _words(drawing, ", ".join(map(_bend_words, bends)), (tip, top - lengths.BEND_WORDS))


def _bend_words(xml: str) -> str:
    bend = etree.fromstring(xml)
    if bend.find("release") is not None:
        return "release"
    text = bend_text(float(bend.findtext("bend-alter") or 0))
    return f"pre-bend {text}" if bend.find("pre-bend") is not None else text


def _path(drawing: Drawing, d: str, *, width: float = 0.0, filled: bool = False) -> None:
    attributes = {"d": d, "fill": "#000" if filled else "none"}
    attributes |= {"stroke": "none"} if filled else {"stroke-width": f"{width:g}"}
    attributes["stroke-linecap"] = "round"
    etree.SubElement(drawing.content, PATH, attributes)


def _words(drawing: Drawing, text: str, at: tuple[float, float]) -> None:
    size = drawing.print.units(drawing.print.size_pt("fing"))
    element = etree.SubElement(
        drawing.content,
        TEXT,
        {
            "x": f"{at[0]:g}",
            "y": f"{at[1]:g}",
            "font-family": FAMILY,
            "font-size": f"{size:g}",
            "font-weight": str(drawing.print.bold),
            "text-anchor": "middle",
            "stroke": "none",
        },
    )
    element.text = text
    half = size * _HALF_LETTER * len(text)
    box = (at[0] - half, at[1] - size, at[0] + half, at[1])
    drawing.letters.append(Letter("fing", text, box, drawing.print.size_pt("fing")))
