"""The fonts of the page: each style cut down to the letters that are used, inside the file."""

from __future__ import annotations

import base64
import io
import logging
from functools import lru_cache
from pathlib import Path

from variants.sheets.fonts import FALLBACK, SANS, Letters, font_files

# Every page has these, so that a title changed by hand in the file still shows.
_USUAL = frozenset(range(0x20, 0x7F)) | frozenset(range(0xA0, 0x180))
# File of each style, weight, slant.
_STYLES = (
    ("SourceSansPro-Regular", SANS, 400, "normal"),
    ("SourceSansPro-It", SANS, 400, "italic"),
    ("SourceSansPro-Semibold", SANS, 600, "normal"),
    ("SourceSansPro-Bold", SANS, 700, "normal"),
)
# Our letters stand for themselves, as the engraver measured them. Scripts that join their letters
# need the tables of the others.
_PLAIN = "SourceSansPro"
_DROPPED = ["GSUB", "GPOS", "GDEF", "kern", "FFTM", "DSIG"]


def font_faces(text: str, letters: Letters) -> str:
    """Return the style sheet's part that holds the fonts of a text.

    Args:
        text: Every character that the page shows.
        letters: The fonts of the run; a folder of the user's serves what ours lack.
    """
    wanted = frozenset(map(ord, text))
    files = {path.stem: path for path in font_files()}
    faces = [
        _face(files[stem], name, weight, slant, _USUAL | wanted)
        for stem, name, weight, slant in _STYLES
    ]
    left = wanted - _codes(files["SourceSansPro-Regular"]) - _USUAL
    for path in (files["DejaVuSans"], *letters.given()):
        here = left & _codes(path)
        if here:
            faces.append(_face(path, FALLBACK, 400, "normal", here))
            left -= here
    return "\n".join(faces)


def _face(path: Path, name: str, weight: int, slant: str, codes: frozenset[int]) -> str:
    data = base64.b64encode(cut(path, codes)).decode("ascii")
    ranged = ""
    if name == FALLBACK:
        # Several files serve one family: each says which letters are its own.
        ranged = "unicode-range:" + ",".join(f"U+{code:X}" for code in sorted(codes)) + ";"
    return (
        f'@font-face{{font-family:"{name}";font-weight:{weight};font-style:{slant};{ranged}'
        f"src:url(data:font/woff;base64,{data}) format('woff')}}"
    )


@lru_cache(maxsize=64)
def _codes(path: Path) -> frozenset[int]:
    from fontTools.ttLib import TTFont

    with TTFont(path, lazy=True, fontNumber=0) as font:
        return frozenset(font.getBestCmap() or ())


@lru_cache(maxsize=64)
def cut(path: Path, codes: frozenset[int]) -> bytes:
    """Return a font with some of its letters only, packed for the web."""
    from fontTools import subset
    from fontTools.ttLib import TTFont

    # It tells of each table that it drops.
    logging.getLogger("fontTools.subset").setLevel(logging.ERROR)
    options = subset.Options()
    if path.stem.startswith(_PLAIN):
        options.drop_tables += _DROPPED
        options.layout_features = []
    options.hinting = False
    options.notdef_outline = True
    options.recalc_timestamp = False
    with TTFont(path, lazy=True, fontNumber=0, recalcTimestamp=False) as font:
        cutter = subset.Subsetter(options)
        cutter.populate(unicodes=codes)
        cutter.subset(font)
        font.flavor = "woff"
        out = io.BytesIO()
        font.save(out, reorderTables=False)
    return out.getvalue()
