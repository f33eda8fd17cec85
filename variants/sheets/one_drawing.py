"""All lines of music in one drawing, for a web page or a word processor."""

from __future__ import annotations

from variants.sheets.engrave import Engraving
from variants.sheets.svgtext import Picture, number, picture

_GAP_MM = 6.0
# White around the music: a page of a browser has none of its own.
_EDGE_MM = 4.0


def one_drawing(engraving: Engraving, *, title: str, about: str = "") -> Picture:
    """Return the lines of music under one another as one drawing.

    Args:
        engraving: The music.
        title: Name of the piece.
        about: What it is, in words, for those who do not see it; empty for its size alone.
    """
    shapes: list[str] = []
    down = _EDGE_MM
    for system in engraving.systems:
        # Each line is a drawing of its own size; its outermost element gets a place.
        inner = system.svg.replace("<svg ", f'<svg x="{number(_EDGE_MM)}" y="{number(down)}" ', 1)
        inner = inner.replace(
            f'width="{system.width_mm:.3f}mm" height="{system.height_mm:.3f}mm"',
            f'width="{number(system.width_mm)}" height="{number(system.height_mm)}"',
            1,
        )
        shapes.append(inner)
        down += system.height_mm + _GAP_MM
    width = max((system.width_mm for system in engraving.systems), default=1.0)
    count = len(engraving.systems)
    lines = f"{count} {'line' if count == 1 else 'lines'} of music"
    return picture(
        shapes,
        width_mm=width + 2 * _EDGE_MM,
        height_mm=max(down - _GAP_MM, 1.0) + _EDGE_MM,
        title=title or "Untitled",
        alt=f"{lines}. {about}" if about else lines,
    )
