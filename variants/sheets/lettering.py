"""Sets the letters of an engraved drawing anew: our fonts, our sizes, font signs as outlines.

The engraver measures letters with its own tables and writes them one piece at a time. Each
piece is written again at its place in one family without serifs, in the sizes of `style`;
signs of the music font become outlines; circled numbers become a number in a drawn circle.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from lxml import etree

from variants.sheets import lengths
from variants.sheets.engraved import PATH, SVG, TEXT, G, line
from variants.sheets.fonts import FALLBACK, SANS, width_em
from variants.sheets.glyphs import code_of, glyph
from variants.sheets.signs import CIRCLED
from variants.sheets.style import Print

FAMILY = f"{SANS}, {FALLBACK}, Helvetica, Arial, sans-serif"
# Stands for a line that a pupil writes on.
BLANK = "\u2581\u2581\u2581"
# A letter of a child is a centimetre wide, with room beside it.
BLANK_MM = 12.0
# Height of a figure, and of a capital, in ems (the family's own measures).
FIGURE_EM = 0.65
# How far a box reaches over and under the feet of its letters, and how far the engraver puts the
# feet of a fret number under its line, in ems.
_OVER_EM, _UNDER_EM, _FRET_FOOT = 0.75, 0.22, 0.33
_KINDS = {
    "fing": "fing",
    "note": "fret",
    "dir": "dir",
    "tempo": "tempo",
    "harm": "harm",
    "syl": "lyric",
    "reh": "reh",
    "mNum": "number",
    "ending": "number",
    "label": "label",
    "labelAbbr": "label",
    "dynam": "dir",
}
_ROMAN = re.compile(r"(½?B)?[IVX]+\Z")
_BOLD = frozenset({"fing", "fret", "harm", "reh", "position", "tempo"})
_ITALIC = frozenset({"dir", "pluck"})
# A font sign among letters is drawn so large that it stands well beside them: share of an em.
_SIGN_EM = {"tempo": 1.35, "harm": 1.15}
# A sign that stands alone above a note is as large as the engraver draws its own.
_ALONE_UNITS = 720.0


@dataclass(frozen=True, slots=True)
class Letter:
    """A piece of text as it stands on the drawing, in the drawing's units.

    Args:
        kind: What it is for (`style.Print.sizes_pt`).
        text: The letters.
        box: Left, top, right, bottom.
        points: Size on paper.
        id: Id of the note that it belongs to, if it is a fret number or stands for one note.
    """

    kind: str
    text: str
    box: tuple[float, float, float, float]
    points: float
    id: str = ""

    @property
    def middle(self) -> float:
        """Half the height of its figures."""
        _, top, _, bottom = self.box
        size = (bottom - top) / (_OVER_EM + _UNDER_EM)
        return bottom - size * _UNDER_EM - size * FIGURE_EM / 2


class Setter:
    """Sets the letters of one drawing."""

    def __init__(self, printed: Print, held: frozenset[str], harmonics: frozenset[str]) -> None:
        self.print = printed
        self.held = held
        self.harmonics = harmonics
        self.letters: list[Letter] = []
        # The group of shapes of each letter, at the same place in the list.
        self.groups: list[etree._Element] = []

    def all_texts(self, root: etree._Element) -> None:
        """Set every text of the drawing anew."""
        for text in list(root.iter(TEXT)):
            self.text(text)

    def text(self, element: etree._Element) -> None:
        """Set one text of the drawing anew."""
        kind, owner = _kind_of(element)
        content = "".join(str(piece) for piece in element.itertext())
        content = re.sub(r"\s*\n\s*", "", content) if "\n" in content else content
        content = content.replace("\xa0", " ").strip() if kind != "lyric" else content.strip("\n ")
        parent = element.getparent()
        if parent is None:
            return
        if not content:
            parent.remove(element)
            return
        x, y = float(element.get("x", 0)), float(element.get("y", 0))
        anchor = element.get("text-anchor", "start")
        group = etree.Element(G, {"stroke": "none"})
        kind = self._finer(kind, content)
        if kind == "fret":
            y = y - _FRET_FOOT * _size_of(element) + FIGURE_EM / 2 * self._units(kind)
            content = self._fret(content, owner)
        elif kind == "fing" and _is_above(element, y):
            y -= lengths.FINGER_LIFT
        elif kind == "number" and anchor != "start":
            # The engraver centres the number of a measure on the edge of the line, half of it
            # beyond the margin.
            x, anchor = max(x, 0.0), "start"
        elif kind == "reh":
            x, y, anchor = _centred(element, x, y, self._units(kind) * FIGURE_EM)
        self._set(group, content, (x, y), anchor=anchor, kind=kind, owner=owner)
        self.groups.append(group)
        parent.replace(element, group)

    def _units(self, kind: str) -> float:
        return self.print.units(self.print.size_pt(kind))

    def _finer(self, kind: str, content: str) -> str:
        if kind == "dir" and _ROMAN.match(content):
            return "position"
        if kind == "fing" and content in ("p", "i", "m", "a", "c"):
            return "pluck"
        return kind

    def _fret(self, content: str, owner: str) -> str:
        if owner in self.harmonics:
            content = f"‹{content}›"
        return f"({content})" if owner in self.held else content

    def _set(
        self,
        group: etree._Element,
        content: str,
        at: tuple[float, float],
        *,
        anchor: str,
        kind: str,
        owner: str,
    ) -> None:
        pieces = _pieces(content)
        size = self._units(kind)
        alone = len(pieces) == 1 and bool(code_of(content[0]))
        weight, italic = self._face(kind)
        widths = [self._width(piece, kind, alone=alone) for piece in pieces]
        x, y = at
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * sum(widths)
        right = left + sum(widths)
        for piece, width in zip(pieces, widths, strict=True):
            if code_of(piece[0]):
                self._sign(group, piece, (left, y), kind=kind, alone=alone)
            elif piece == BLANK:
                self._blank(group, (left + width / 2, y))
            elif piece in CIRCLED:
                self._circle(group, piece, (left + width / 2, y), size)
            else:
                # One piece alone keeps its anchor: the reader of the drawing then centres it by
                # the font that it really has.
                alone_x = x if len(pieces) == 1 else left
                element = etree.SubElement(
                    group,
                    TEXT,
                    {
                        "x": _n(alone_x),
                        "y": _n(y),
                        "font-family": FAMILY,
                        "font-size": _n(size),
                        "font-weight": str(weight),
                        "text-anchor": anchor if len(pieces) == 1 else "start",
                    },
                )
                if italic:
                    element.set("font-style", "italic")
                element.set("{http://www.w3.org/XML/1998/namespace}space", "preserve")
                element.text = piece
            left += width
        box = (right - sum(widths), y - size * _OVER_EM, right, y + size * _UNDER_EM)
        self.letters.append(Letter(kind, content, box, self.print.size_pt(kind), owner))

    def _face(self, kind: str) -> tuple[int, bool]:
        weight = self.print.bold if kind in _BOLD or self.print.name == "large" else 400
        return weight, kind in _ITALIC

    def _width(self, piece: str, kind: str, *, alone: bool) -> float:
        size = self._units(kind)
        code = code_of(piece[0])
        if code:
            sign = glyph(code)
            return (sign.advance + 60) / 1000 * self._sign_size(kind, alone=alone) if sign else 0.0
        if piece in CIRCLED:
            return size * 1.15
        weight, italic = self._face(kind)
        return width_em(piece, weight=weight, italic=italic) * size

    def _sign_size(self, kind: str, *, alone: bool) -> float:
        if alone and kind not in _SIGN_EM:
            return _ALONE_UNITS
        return self._units(kind) * _SIGN_EM.get(kind, 1.2)

    def _sign(
        self, group: etree._Element, piece: str, at: tuple[float, float], *, kind: str, alone: bool
    ) -> None:
        sign = glyph(code_of(piece[0]))
        if sign is None:
            return
        scale = self._sign_size(kind, alone=alone) / 1000
        x, y = at
        if kind in ("harm", "lyric"):
            # Accidentals are drawn around a line of the staff; beside letters they stand on it.
            y -= 0.32 * self._units(kind)
        etree.SubElement(
            group,
            PATH,
            {
                "transform": f"translate({_n(x)},{_n(y)}) scale({scale:.4f},{-scale:.4f})",
                "d": sign.outline,
            },
        )

    def _blank(self, group: etree._Element, at: tuple[float, float]) -> None:
        """Draw a line to write on."""
        half = BLANK_MM / self.print.mm_per_pixel * 10 / 2
        etree.SubElement(
            group,
            PATH,
            {
                "d": f"M{_n(at[0] - half)} {_n(at[1])} L{_n(at[0] + half)} {_n(at[1])}",
                "stroke": "#000",
                "stroke-width": _n(lengths.BLANK_THICK[self.print.name]),
            },
        )

    def _circle(
        self, group: etree._Element, piece: str, at: tuple[float, float], size: float
    ) -> None:
        x, y = at
        middle = y - size * FIGURE_EM / 2
        etree.SubElement(
            group,
            f"{{{SVG}}}circle",
            {
                "cx": _n(x),
                "cy": _n(middle),
                "r": _n(size * 0.52),
                "fill": "none",
                "stroke": "#000",
                "stroke-width": _n(size * 0.06),
            },
        )
        small = size * 0.82
        text = etree.SubElement(
            group,
            TEXT,
            {
                "x": _n(x),
                "y": _n(middle + small * FIGURE_EM / 2),
                "font-family": FAMILY,
                "font-size": _n(small),
                "font-weight": "600",
                "text-anchor": "middle",
            },
        )
        text.text = str(CIRCLED.index(piece) + 1)


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")


def _pieces(content: str) -> list[str]:
    """Cut a text where font signs and circled numbers stand."""
    pieces: list[str] = []
    for character in content:
        special = bool(code_of(character)) or character in CIRCLED
        if special or not pieces or code_of(pieces[-1][0]) or pieces[-1] in CIRCLED:
            pieces.append(character)
        else:
            pieces[-1] += character
    return pieces


def _kind_of(element: etree._Element) -> tuple[str, str]:
    """Return what a text is for, and the id of the note that it belongs to."""
    for ancestor in element.iterancestors():
        first = (ancestor.get("class") or "").split(" ")[0]
        if first == "fing":
            return _KINDS[first], str(ancestor.attrib.pop("data-startid", "")).lstrip("#")
        if first in _KINDS:
            return _KINDS[first], ancestor.get("id", "") if first == "note" else ""
    return "other", ""


def _is_above(element: etree._Element, y: float) -> bool:
    """Whether a height is above the first staff of the element's measure."""
    for ancestor in element.iterancestors():
        if ancestor.get("class") == "measure":
            path = ancestor.find(f"{G}[@class='staff']/{PATH}")
            first = line(path) if path is not None else None
            return first is not None and y < first.y1
    return False


def _size_of(element: etree._Element) -> float:
    sizes = [
        float(str(span.get("font-size")).removesuffix("px"))
        for span in element.iter(f"{{{SVG}}}tspan")
        if span.get("font-size")
    ]
    return max(sizes, default=0.0)


def _centred(
    element: etree._Element, x: float, y: float, height: float
) -> tuple[float, float, str]:
    """Return where a text stands in the middle of the box that is drawn around it."""
    parent = element.getparent()
    box = None if parent is None else parent.find(f"{{{SVG}}}rect")
    if box is None:
        return x, y, element.get("text-anchor", "start")
    left, top, width, tall = (float(box.get(name, 0)) for name in ("x", "y", "width", "height"))
    return left + width / 2, top + tall / 2 + height / 2, "middle"
