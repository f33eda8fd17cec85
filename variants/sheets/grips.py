"""Chord grips: read from the frames of chord symbols, drawn in our own manner."""

from __future__ import annotations

from dataclasses import dataclass

from lxml import etree

from variants.score import Harmony, Part
from variants.sheets.chordnames import chord_name
from variants.sheets.style import Print
from variants.sheets.svgtext import Picture, disc, line, number, picture, text

_LEAST_FRETS = 4


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
    ordered = tuple(sorted(stops, reverse=True))
    return Grip(chord_name(harmony), strings, first, ordered, tuple(barres))


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
    grow = printed.text_pt / 9.5
    gap, step = 3.4 * grow, 4.4 * grow
    highest = max((fret for _, fret, _ in grip.stops), default=1)
    frets = max(_LEAST_FRETS, highest - grip.first_fret + 1)
    left, top = 5.0 * grow, 11.0 * grow
    width = left * 2 + gap * (grip.strings - 1)
    thick = 1.6 if printed.name == "large" else 1.0

    def x(string: int) -> float:
        at = left + (grip.strings - string) * gap
        return width - at if left_handed else at

    def y(fret: int) -> float:
        return top + (fret - grip.first_fret + 0.5) * step

    bottom = top + frets * step
    shapes = [text(grip.name, (width / 2, 4.6 * grow), points=11 * grow, weight=600)]
    shapes += [
        line((x(s), top), (x(s), bottom), width_mm=0.25 * thick) for s in range(1, grip.strings + 1)
    ]
    edges = (min(x(1), x(grip.strings)), max(x(1), x(grip.strings)))
    for fret in range(frets + 1):
        at = top + fret * step
        nut = fret == 0 and grip.first_fret == 1
        shapes.append(line((edges[0], at), (edges[1], at), width_mm=(1.0 if nut else 0.25) * thick))
    if grip.first_fret > 1:
        label = (edges[0] - 1.4 * grow, y(grip.first_fret))
        shapes.append(
            text(str(grip.first_fret), label, points=7.5 * grow, anchor="end", centred=True)
        )
    radius = 1.6 * grow
    for fret, low, high in grip.barres:
        a, b = sorted((x(low), x(high)))
        shapes.append(
            f'<rect x="{number(a - radius)}" y="{number(y(fret) - radius)}" rx="{number(radius)}" '
            f'width="{number(b - a + 2 * radius)}" height="{number(2 * radius)}" fill="#000"/>'
        )
    sounding = {string for string, _, _ in grip.stops}
    for string in range(1, grip.strings + 1):
        if string not in sounding:
            at_x = (x(string), top - 2.2 * grow)
            shapes.append(text("×", at_x, points=9 * grow, weight=600, centred=True))
    for string, fret, finger in grip.stops:
        if fret == 0:
            ring = (x(string), top - 2.2 * grow)
            shapes.append(disc(ring, radius_mm=1.0 * grow, width_mm=0.25 * thick))
            continue
        shapes.append(disc((x(string), y(fret)), radius_mm=radius, fill="#000"))
        if finger:
            shapes.append(
                text(
                    finger,
                    (x(string), y(fret)),
                    points=7.5 * grow,
                    weight=700,
                    fill="#fff",
                    centred=True,
                )
            )
    return picture(
        shapes,
        width_mm=width,
        height_mm=bottom + 1.0,
        title=f"Chord grip: {grip.name}",
        alt=describe(grip),
    )
