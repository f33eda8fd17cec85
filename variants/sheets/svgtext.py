"""Small helpers for the drawings that we make ourselves, in millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from variants.sheets.lettering import FAMILY, FIGURE_EM
from variants.sheets.style import MM_PER_POINT

# By this a drawing is known as ours when it is written again.
MADE_BY = "neckwise"


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing with its size on paper and the words that stand for it.

    Args:
        svg: The drawing.
        width_mm: Width.
        height_mm: Height.
        alt: What it shows, in words.
        title: Its name in a few words.
    """

    svg: str
    width_mm: float
    height_mm: float
    alt: str
    title: str = ""


def picture(
    shapes: list[str], *, width_mm: float, height_mm: float, title: str, alt: str
) -> Picture:
    """Return shapes as a drawing that says what it shows."""
    text = (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{number(width_mm)}mm" '
        f'height="{number(height_mm)}mm" viewBox="0 0 {number(width_mm)} {number(height_mm)}">'
        f"<title>{escape(title)}</title><desc>{escape(alt)}</desc>"
        f"<metadata>{MADE_BY}</metadata>{''.join(shapes)}</svg>"
    )
    return Picture(text, width_mm, height_mm, alt, title)


def number(value: float) -> str:
    """Return a length as short text: the same on every machine."""
    return f"{value:.2f}".rstrip("0").rstrip(".")


def line(start: tuple[float, float], stop: tuple[float, float], *, width_mm: float) -> str:
    """Return a black line."""
    (x1, y1), (x2, y2) = start, stop
    return (
        f'<line x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}" '
        f'stroke="#000" stroke-width="{number(width_mm)}"/>'
    )


def disc(
    at: tuple[float, float], *, radius_mm: float, fill: str = "#fff", width_mm: float = 0.3
) -> str:
    """Return a circle with a black edge."""
    return (
        f'<circle cx="{number(at[0])}" cy="{number(at[1])}" r="{number(radius_mm)}" '
        f'fill="{fill}" stroke="#000" stroke-width="{number(width_mm)}"/>'
    )


def text(
    content: str,
    at: tuple[float, float],
    *,
    points: float,
    weight: int = 400,
    anchor: str = "middle",
    fill: str = "#000",
    centred: bool = False,
    halo_mm: float = 0.0,
) -> str:
    """Return a piece of text.

    Args:
        content: The text.
        at: Where.
        points: Its size.
        weight: Its weight.
        anchor: ``start``, ``middle`` or ``end``.
        fill: Black or white.
        centred: Put the middle of its figures at the height given, not their feet.
        halo_mm: Width of a white edge that keeps lines away; 0 for none.
    """
    size = points * MM_PER_POINT
    y = at[1] + (size * FIGURE_EM / 2 if centred else 0.0)
    ground = ""
    if halo_mm:
        # A plain white ground: not every reader of drawings knows edges around letters.
        wide = size * FIGURE_EM * 0.78 * len(content)
        left = at[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide - halo_mm / 2
        high = size * FIGURE_EM + halo_mm
        ground = (
            f'<rect x="{number(left)}" y="{number(y - high + halo_mm / 2)}" fill="#fff" '
            f'width="{number(wide + halo_mm)}" height="{number(high)}"/>'
        )
    return (
        f'{ground}<text x="{number(at[0])}" y="{number(y)}" font-family={quoteattr(FAMILY)} '
        f'font-size="{number(size)}" font-weight="{weight}" text-anchor="{anchor}" '
        f'fill="{fill}">{escape(content)}</text>'
    )
