"""Signs of the music font as outlines, so that no reader of the drawing needs the font.

The engraver writes a few signs (the note of a tempo mark, for one) as letters of its music
font. A typesetter that has no such font shows empty boxes; we draw their outlines instead.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

FONT = "Leipzig"
# The Standard Music Font Layout keeps its signs in the private area of Unicode.
_FIRST, _LAST = 0xE000, 0xF8FF
# Unicode's own signs that our letters lack or draw poorly, and the same in the music font.
_SAME = {
    "\u266d": 0xE260,
    "\u266e": 0xE261,
    "\u266f": 0xE262,
    "\u2669": 0xE1D5,
    "\u266a": 0xE1D7,
    # The accidentals of figured bass, which the engraver takes for chord symbols too, are so small
    # that they cannot be read beside letters.
    "\uea64": 0xE260,
    "\uea65": 0xE261,
    "\uea66": 0xE262,
    "\uea67": 0xE263,
    "\uea63": 0xE264,
}
_PATH = re.compile(r'\sd="([^"]*)"')


@dataclass(frozen=True, slots=True)
class Glyph:
    """One sign: its outline, y growing upward, and its measures, all in 1/1000 of an em."""

    outline: str
    advance: float
    left: float
    bottom: float
    width: float
    height: float


def code_of(character: str) -> int:
    """Return the code of a sign of the music font; 0 for any other character."""
    if character in _SAME:
        return _SAME[character]
    code = ord(character)
    return code if _FIRST <= code <= _LAST else 0


def glyph(code: int) -> Glyph | None:
    """Return a sign of the music font; ``None`` if the font lacks it."""
    box = _boxes().get(code)
    if box is None:
        return None
    return Glyph(_outline(code), *box)


@lru_cache(maxsize=512)
def _outline(code: int) -> str:
    file = resources.files("verovio") / "data" / FONT / f"{code:04X}.xml"
    if not file.is_file():
        return ""
    found = _PATH.search(file.read_text(encoding="utf-8"))
    return found.group(1) if found else ""


@lru_cache(maxsize=1)
def _boxes() -> dict[int, tuple[float, float, float, float, float]]:
    """Return advance, left, bottom, width and height by code."""
    text = (resources.files("verovio") / "data" / f"{FONT}.xml").read_text(encoding="utf-8")
    found = re.findall(
        r'<g c="([0-9A-F]+)" x="([-\d.]+)" y="([-\d.]+)" w="([-\d.]+)" h="([-\d.]+)"'
        r'(?: h-a-x="([-\d.]+)")?',
        text,
    )
    return {
        int(code, 16): (float(advance or width), float(x), float(y), float(width), float(height))
        for code, x, y, width, height, advance in found
    }
