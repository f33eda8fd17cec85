"""The letters: which font files there are, what they hold, and how wide they run.

All of them come with Python packages: one family without serifs for everything in and around
the music, and what the typesetter brings along (a serif for titles). No font of the computer
is used unless asked for, so that the same score gives the same bytes everywhere.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from variants.errors import OutputError, UsageError

if TYPE_CHECKING:
    import typst

SANS = "Source Sans Pro"
SERIF = "Libertinus Serif"
# For letters that neither has: Hebrew, Arabic and more signs.
FALLBACK = "DejaVu Sans"
_SANS_FILES = ("Regular", "It", "Semibold", "SemiboldIt", "Bold", "BoldIt")
_FALLBACK_FILES = ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf")
_WEIGHTS = {400: "Regular", 600: "Semibold", 700: "Bold"}
# Signs that stand for themselves whatever the fonts hold: spaces, joiners, direction marks.
_LAST_LATIN = 0xFF
_ONE_AT_A_TIME = Lock()
_UNSEEN = frozenset("\u200b\u200c\u200d\u200e\u200f\u2060\ufeff\n\t ")


@dataclass(frozen=True, slots=True)
class Letters:
    """The fonts of a run.

    Args:
        folder: A folder with further font files of the user's; ``None`` for none.
    """

    folder: Path | None = None
    _files: tuple[Path, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        own = list(font_files())
        if self.folder is not None:
            if not self.folder.is_dir():
                raise UsageError(f"{self.folder} is no folder", way_out="name a folder with fonts")
            found = (p for p in self.folder.rglob("*") if p.suffix.lower() in {".ttf", ".otf"})
            own += sorted(found)
        object.__setattr__(self, "_files", tuple(own))

    def set_up(self) -> typst.Fonts:
        """Return the fonts as the typesetter takes them."""
        # Two threads that made the folder of fonts at once would take it from one another.
        with _ONE_AT_A_TIME:
            return _fonts(self.folder)

    def families(self) -> list[str]:
        """Return the names of the families, ours first, the user's after."""
        given = [name for name in self.set_up().families() if name not in _OURS]
        return [SANS, FALLBACK, *sorted(given)]

    def given(self) -> tuple[Path, ...]:
        """Return the user's own font files."""
        return self._files[len(font_files()) :]

    def missing(self, text: str) -> str:
        """Return the characters of a text that no font here has, each once."""
        rare = [c for c in text if ord(c) > _LAST_LATIN and c not in _UNSEEN]
        if not rare:
            return ""
        held = _held(self._files)
        return "".join(dict.fromkeys(c for c in rare if ord(c) not in held))


_OURS = frozenset({SANS, FALLBACK, SERIF, "New Computer Modern", "New Computer Modern Math"})


@lru_cache(maxsize=8)
def _fonts(folder: Path | None) -> typst.Fonts:
    import typst

    paths = [_own_folder().name]
    if folder is not None:
        paths.append(str(folder))
    return typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=paths)


@lru_cache(maxsize=1)
def _own_folder() -> tempfile.TemporaryDirectory[str]:
    """Return a folder with nothing but our files; it goes when the program ends.

    The typesetter takes folders only, and the package has each style in two formats, of which
    the typesetter would take the one that the file system lists first.
    """
    folder = tempfile.TemporaryDirectory(prefix="neckwise-fonts-")
    for path in font_files():
        shutil.copyfile(path, Path(folder.name) / path.name)
    return folder


@lru_cache(maxsize=1)
def font_files() -> tuple[Path, ...]:
    """Return the font files that come with the packages."""
    sans = _folder_of("font_source_sans_pro") / "files"
    fallback = _folder_of("matplotlib") / "mpl-data" / "fonts" / "ttf"
    files = [sans / f"SourceSansPro-{style}.ttf" for style in _SANS_FILES]
    files += [fallback / name for name in _FALLBACK_FILES]
    return tuple(files)


def _folder_of(package: str) -> Path:
    """Return where a package is, without importing it: only its files are wanted."""
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        raise OutputError(
            f"the package {package} is not installed",
            way_out="install neckwise with the packages it asks for",
        )
    return Path(next(iter(spec.submodule_search_locations)))


@lru_cache(maxsize=8)
def _held(files: tuple[Path, ...]) -> frozenset[int]:
    """Return the code points that at least one of the files has."""
    from fontTools.ttLib import TTFont

    held: set[int] = set()
    for path in files:
        with TTFont(path, lazy=True, fontNumber=0) as font:
            held.update(font.getBestCmap() or {})
    return frozenset(held)


@lru_cache(maxsize=8)
def _advances(weight: int, *, italic: bool) -> dict[int, float]:
    """Return the advance of each code point of the family without serifs, in ems."""
    from fontTools.ttLib import TTFont

    style = _WEIGHTS.get(weight, "Regular") + ("It" if italic else "")
    name = "It" if style == "RegularIt" else style
    path = next(p for p in font_files() if p.stem == f"SourceSansPro-{name}")
    with TTFont(path, lazy=True) as font:
        em = font["head"].unitsPerEm
        widths = font["hmtx"].metrics
        return {code: widths[glyph][0] / em for code, glyph in font.getBestCmap().items()}


def width_em(text: str, *, weight: int = 400, italic: bool = False) -> float:
    """Return how wide a text runs, in ems, without kerning.

    >>> 0.4 < width_em("0") < 0.6
    True
    """
    table = _advances(weight, italic=italic)
    return sum(table.get(ord(character), 0.6) for character in text)


def missing_letters(text: str, letters: Letters) -> str:
    """Return in words which characters of a text no font here has; empty for none."""
    gone = letters.missing(text)
    if not gone:
        return ""
    shown = " ".join(f"{c} (U+{ord(c):04X})" for c in gone[:6])
    return shown + (f" and {len(gone) - 6} more" if len(gone) > 6 else "")


def missing_line(texts: Iterable[str], letters: Letters) -> str:
    """Return one line about the characters that will be printed as boxes; empty for none."""
    gone = missing_letters("".join(texts), letters)
    if not gone:
        return ""
    return (
        f"no font here has {gone}: empty boxes stand for them; "
        "name a folder that holds a font with these letters (--fonts)"
    )
