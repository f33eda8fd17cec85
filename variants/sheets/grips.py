"""Chord grips: read from the frames of chord symbols, drawn in our own manner."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from variants.score import Harmony, Part
from variants.score.symbols import symbol_name
from variants.sheets.style import THICK, USUAL_PT, Print
from variants.sheets.svgtext import Picture, disc, line, number, picture, text

_LEAST_FRETS = 4
# A frame with more of either is no guitar's.
_MOST_STRINGS, _MOST_FRET = 12, 36
# Lengths of the drawing in millimetres, in ordinary print; all grow with the text.
# Between strings and between frets: a finger's figure fits in between.
_GAP, _STEP = 3.4, 4.4
# From the edge to the grid: the number of its first fret at the left, name and rings on top.
_LEFT, _TOP = 5.0, 11.0
_NAME_FOOT = 4.6
# A finger, an open string's ring, and how far above the nut that is.
_STOP_RADIUS, _OPEN_RADIUS, _OPEN_ABOVE = 1.6, 1.0, 2.2
_BESIDE = 1.4
# Lines: the nut, and all others.
_NUT, _THIN = 1.0, 0.25
# Sizes of letters in points, and what the bold ones weigh.
_NAME_PT, _CROSS_PT, _FIGURE_PT = 11, 9, 7.5
_SEMIBOLD, _BOLD = 600, 700


@dataclass(frozen=True, slots=True)
class Grip:
    """A chord grip.

    Args:
        name: Name of the chord.
        strings: Number of strings.
        first_fret: The fret at the top of the drawing.
        stops: (string, fret, finger) of each string that sounds; finger may be empty.
        barres: (fret, from string, to string), the lower-pitched string first.
    """

    name: str
    strings: int
    first_fret: int
    stops: tuple[tuple[int, int, str], ...]
    barres: tuple[tuple[int, int, int], ...] = ()


def grips_of(part: Part) -> tuple[Grip, ...]:
    """Return the grips of a part's chord symbols, each once, in order of first use."""
    found = [
        grip
        for measure in part.measures
        for harmony in measure.harmonies
        if harmony.frame and (grip := read_grip(harmony)) is not None
    ]
    return tuple(dict.fromkeys(found))


def read_grip(harmony: Harmony) -> Grip | None:
    """Return the grip of a chord symbol; ``None`` if it has none that can be read."""
    try:
        frame = etree.fromstring(harmony.frame)
        strings = int(frame.findtext("frame-strings") or 6)
        first = int(frame.findtext("first-fret") or 1)
        stops: list[tuple[int, int, str]] = []
        open_barres: dict[int, int] = {}
        barres: list[tuple[int, int, int]] = []
        for note in frame.findall("frame-note"):
            string = int(note.findtext("string") or 0)
            fret = int(note.findtext("fret") or 0)
            stops.append((string, fret, (note.findtext("fingering") or "").strip()))
            barre = note.find("barre")
            if barre is not None and barre.get("type") == "start":
                open_barres[fret] = string
            elif barre is not None and fret in open_barres:
                start = open_barres.pop(fret)
                barres.append((fret, max(start, string), min(start, string)))
    except (etree.XMLSyntaxError, ValueError):
        return None
    frets = [first, *(fret for _, fret, _ in stops)]
    known = all(0 < string <= strings for string, _, _ in stops)
    if not (0 < strings <= _MOST_STRINGS and known and 0 <= min(frets) <= max(frets) <= _MOST_FRET):
        return None
    ordered = tuple(sorted(stops, reverse=True))
    return Grip(symbol_name(harmony), strings, first, ordered, tuple(barres))


def describe(grip: Grip) -> str:
    """Return a grip in words.

    >>> describe(Grip("Em", 6, 1, ((5, 2, "2"), (4, 2, "3"))))
    'Em: string 5 fret 2 finger 2, string 4 fret 2 finger 3'
    """
    words = [
        f"string {string} " + (f"fret {fret}" if fret else "open") + (f" finger {f}" if f else "")
        for string, fret, f in grip.stops
    ]
    return f"{grip.name}: {', '.join(words)}"


def draw_grip(grip: Grip, printed: Print, *, left_handed: bool = False) -> Picture:
    """Return a grip as a drawing: strings upright, the nut on top, x for a string left out."""
    return _Drawing(grip, printed, is_mirrored=left_handed).picture()


class _Drawing:
    """The measures of one grip, in millimetres, and its shapes."""

    def __init__(self, grip: Grip, printed: Print, *, is_mirrored: bool) -> None:
        self.grip = grip
        self.is_mirrored = is_mirrored
        self.grow = printed.text_pt / USUAL_PT
        self.gap, self.step = _GAP * self.grow, _STEP * self.grow
        highest = max((fret for _, fret, _ in grip.stops), default=1)
        self.frets = max(_LEAST_FRETS, highest - grip.first_fret + 1)
        self.left, self.top = _LEFT * self.grow, _TOP * self.grow
        self.width = self.left * 2 + self.gap * (grip.strings - 1)
        self.bottom = self.top + self.frets * self.step
        self.thick = THICK[printed.name]
        self.radius = _STOP_RADIUS * self.grow

    def x(self, string: int) -> float:
        """Return where a string is."""
        at = self.left + (self.grip.strings - string) * self.gap
        return self.width - at if self.is_mirrored else at

    def y(self, fret: int) -> float:
        """Return the middle of a fret."""
        return self.top + (fret - self.grip.first_fret + 0.5) * self.step

    def picture(self) -> Picture:
        """Return the drawing."""
        grow = self.grow
        at = (self.width / 2, _NAME_FOOT * grow)
        name = text(self.grip.name, at, points=_NAME_PT * grow, weight=_SEMIBOLD)
        return picture(
            [name, *self._grid(), *self._barres(), *self._above(), *self._stops()],
            width_mm=self.width,
            height_mm=self.bottom + 1.0,
            title=f"Chord grip: {self.grip.name}",
            alt=describe(self.grip),
        )

    def _grid(self) -> list[str]:
        strings = range(1, self.grip.strings + 1)
        thin = _THIN * self.thick
        shapes = [
            line((self.x(s), self.top), (self.x(s), self.bottom), width_mm=thin) for s in strings
        ]
        left, right = sorted((self.x(1), self.x(self.grip.strings)))
        for fret in range(self.frets + 1):
            at = self.top + fret * self.step
            nut = fret == 0 and self.grip.first_fret == 1
            width = (_NUT if nut else _THIN) * self.thick
            shapes.append(line((left, at), (right, at), width_mm=width))
        if self.grip.first_fret > 1:
            label = (left - _BESIDE * self.grow, self.y(self.grip.first_fret))
            number_of = str(self.grip.first_fret)
            points = _FIGURE_PT * self.grow
            shapes.append(text(number_of, label, points=points, anchor="end", centred=True))
        return shapes

    def _barres(self) -> list[str]:
        shapes = []
        radius = self.radius
        for fret, low, high in self.grip.barres:
            a, b = sorted((self.x(low), self.x(high)))
            left, top = number(a - radius), number(self.y(fret) - radius)
            shapes.append(
                f'<rect x="{left}" y="{top}" rx="{number(radius)}" '
                f'width="{number(b - a + 2 * radius)}" height="{number(2 * radius)}" fill="#000"/>'
            )
        return shapes

    def _above(self) -> list[str]:
        """Return what stands over the nut: x for a string left out, a ring for an open one."""
        frets = {string: fret for string, fret, _ in self.grip.stops}
        shapes = []
        for string in range(1, self.grip.strings + 1):
            at = (self.x(string), self.top - _OPEN_ABOVE * self.grow)
            if string not in frets:
                shapes.append(
                    text("×", at, points=_CROSS_PT * self.grow, weight=_SEMIBOLD, centred=True)
                )
            elif frets[string] == 0:
                ring = disc(at, radius_mm=_OPEN_RADIUS * self.grow, width_mm=_THIN * self.thick)
                shapes.append(ring)
        return shapes

    def _stops(self) -> list[str]:
        shapes = []
        points = _FIGURE_PT * self.grow
        for string, fret, finger in self.grip.stops:
            if fret == 0:
                continue
            at = (self.x(string), self.y(fret))
            shapes.append(disc(at, radius_mm=self.radius, fill="#000"))
            if finger:
                shapes.append(
                    text(finger, at, points=points, weight=_BOLD, fill="#fff", centred=True)
                )
        return shapes
