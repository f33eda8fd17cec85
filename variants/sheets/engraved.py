"""The engraver's drawing as typed values: groups by kind, lines, the places of signs.

Everything that we read from it is read here. It is made of groups with a class (`measure`,
`staff`, `note`, `stem` ...), in which lines are paths of two points, and signs of the music font
are moved and scaled to their place. Lengths are in its units (`lengths.UNITS_PER_SPACE`).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from lxml import etree

SVG = "http://www.w3.org/2000/svg"
G = f"{{{SVG}}}g"
USE = f"{{{SVG}}}use"
PATH = f"{{{SVG}}}path"
TEXT = f"{{{SVG}}}text"
POLYLINE = f"{{{SVG}}}polyline"
RESTS = ("rest", "mRest")
_NUMBER = re.compile(r"-?[\d.]+")
_LINE = re.compile(r"M(-?[\d.]+)[ ,](-?[\d.]+) ?L(-?[\d.]+)[ ,](-?[\d.]+)\Z")
_MOVED = re.compile(r"translate\((-?[\d.]+), ?(-?[\d.]+)\)(?: scale\(([\d.]+))?")


class Segment(NamedTuple):
    """A straight line from its left or first end to the other."""

    x1: float
    y1: float
    x2: float
    y2: float


class SignSpot(NamedTuple):
    """Where a sign of the music font stands, and how much it is scaled."""

    x: float
    y: float
    scale: float


def groups(root: etree._Element, *kinds: str) -> Iterator[etree._Element]:
    """Yield the groups within a drawing whose class begins with one of some words, in order."""
    for group in root.iter(G):
        if (group.get("class") or "").split(" ")[0] in kinds:
            yield group


def staves(measure: etree._Element) -> list[etree._Element]:
    """Return the staves of a measure from the top."""
    return [one for one in measure.iterchildren(G) if one.get("class") == "staff"]


def line(path: etree._Element) -> Segment | None:
    """Return a path that is a straight line."""
    found = _LINE.match(path.get("d", ""))
    return Segment(*map(float, found.groups())) if found else None


def staff_lines(staff: etree._Element) -> list[tuple[etree._Element, Segment]]:
    """Return the lines of a staff, those of a tab in pieces, as drawn, with their paths."""
    return [(path, one) for path in staff.iterchildren(PATH) if (one := line(path))]


def lowest_line(staff: etree._Element) -> float:
    """Return the height of a staff's lowest line."""
    return max((one.y1 for _, one in staff_lines(staff)), default=0.0)


def ends(staff: etree._Element) -> tuple[float, float]:
    """Return the left and the right end of a staff in its measure."""
    found = [one for _, one in staff_lines(staff)]
    if not found:
        return 0.0, float("inf")
    return min(one.x1 for one in found), max(one.x2 for one in found)


def spot(element: etree._Element | None) -> SignSpot | None:
    """Return where a moved sign or group stands; ``None`` for one that is not moved."""
    found = None if element is None else _MOVED.match(element.get("transform", ""))
    return SignSpot(*(float(one or 1.0) for one in found.groups())) if found else None


def numbers(text: str) -> list[float]:
    """Return the numbers of a transform or of the points of a shape."""
    return [float(one) for one in _NUMBER.findall(text)]
