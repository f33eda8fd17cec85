"""Public-domain tunes for the song-set benchmark, converted once and kept.

The tunes are those of O'Neill (1903 and 1907), Ryan (1883) and Aird (1782 to 1801), which music21
carries in ABC. music21 reads them and writes MusicXML; titles get a number, so that no two files
have one name.
"""

from __future__ import annotations

import sys
import tempfile
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

COLLECTIONS = ("ryansMammoth", "oneills1850", "airdsAirs")
FOLDER = Path(tempfile.gettempdir()) / "neckwise-songset-tunes"
# Some entries of the books are empty.
_FEWEST_NOTES = 8


def tunes(count: int, folder: Path = FOLDER) -> list[Path]:
    """Return so many tunes as MusicXML files, converting those that are not there yet.

    Args:
        count: How many.
        folder: Where they are kept.
    """
    folder.mkdir(parents=True, exist_ok=True)
    found = sorted(folder.glob("*.musicxml"))
    if len(found) < count:
        _convert(count, folder)
        found = sorted(folder.glob("*.musicxml"))
    if len(found) < count:
        raise SystemExit(f"only {len(found)} tunes can be converted")
    return found[:count]


def _convert(count: int, folder: Path) -> None:
    """Write tunes as MusicXML until there are enough of them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        for number, (name, score) in enumerate(_scores()):
            if len(list(folder.glob("*.musicxml"))) >= count:
                return
            path = folder / f"{number:05}-{name}.musicxml"
            if not path.exists():
                _write(score, path)
            if number % 100 == 0:
                sys.stderr.write(f"\rconverting tune {number} of {count}")
                sys.stderr.flush()


def _write(score: Any, path: Path) -> None:  # noqa: ANN401 - music21 has no types
    from music21.exceptions21 import Music21Exception

    # A run that is ended here must not leave half a tune to the next one.
    half = path.parent / "half" / path.name
    half.parent.mkdir(exist_ok=True)
    try:
        score.write("musicxml", fp=str(half))
    except (Music21Exception, ValueError):
        return
    half.replace(path)


def _scores() -> Iterator[tuple[str, Any]]:
    from music21 import converter, corpus
    from music21.exceptions21 import Music21Exception

    paths = [
        path for path in corpus.getPaths(fileExtensions=("abc",)) if path.parent.name in COLLECTIONS
    ]
    for path in sorted(paths, key=lambda one: (COLLECTIONS.index(one.parent.name), one.name)):
        try:
            read = converter.parse(str(path))
        except (Music21Exception, ValueError, KeyError, IndexError, ZeroDivisionError):
            continue
        scores = list(read.scores) if "Opus" in read.classes else [read]
        for score in scores:
            if len(list(score.recurse().notes)) >= _FEWEST_NOTES:
                yield path.stem.replace("_", "-"), score
