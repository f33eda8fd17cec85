"""A sheet made in a thread is the sheet that the program alone makes, to the byte."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from variants.musicxml import read
from variants.sheets import Version, engrave, handout, ready

_SAMPLES = Path(__file__).parents[3] / "samples"
_NAMES = ("harbour-riff", "lantern-arpeggio", "two-boats-duet")
_THREADS = 4


def _sheet(name: str) -> tuple[tuple[str, ...], bytes]:
    """Return the lines of music and the PDF of a sample, fingered for its tab."""
    score = ready(read(_SAMPLES / f"{name}.musicxml"), staves="both")
    lines = tuple(one.svg for one in engrave(score, staves="both").systems)
    return lines, handout([Version(score=score)]).pdf


def test_four_threads_make_the_same_bytes() -> None:
    """Fingering, engraving and typesetting in four threads at once, against none."""
    with ThreadPoolExecutor(_THREADS) as pool:
        found = list(pool.map(_sheet, _NAMES * _THREADS))
    assert found == [_sheet(name) for name in _NAMES] * _THREADS
