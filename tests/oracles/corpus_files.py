"""The MusicXML files that music21 ships: its corpus and the feature files of its tests."""

from __future__ import annotations

import importlib.util
from pathlib import Path

_ENDINGS = ("*.xml", "*.musicxml", "*.mxl")


def music21_folder() -> Path:
    """Return the folder of the installed package, without importing it.

    Raises:
        FileNotFoundError: music21 is not installed.
    """
    found = importlib.util.find_spec("music21")
    if found is None or found.origin is None:
        raise FileNotFoundError("the package music21; pip install music21")
    return Path(found.origin).parent


def corpus_files() -> list[Path]:
    """Return every file of the corpus and every feature file, in order of their names."""
    root = music21_folder()
    return sorted(
        path
        for folder in ("corpus", "musicxml")
        for ending in _ENDINGS
        for path in (root / folder).rglob(ending)
    )


def label(path: Path) -> str:
    """Return the name of a file below the package: ``corpus/bach/bwv1.6.mxl``."""
    return path.relative_to(music21_folder()).as_posix()
