"""The same transposition by a plain music21 script, beside one variant of ours."""

from __future__ import annotations

import time
import warnings
from collections.abc import Sequence
from pathlib import Path

from variants.musicxml import read_raw
from variants.recipes import usual_recipes
from variants.variant import make_variant, written

_RECIPE = "up-a-tone"


def compared(songs: Sequence[Path]) -> tuple[float, float, int]:
    """Return processor seconds a song of the script and of ours, and how many songs both can.

    Ours does more: contract checks, fingering, tab, and reading again what was written. Each is
    run once over the first song before, so that nothing is imported on the clock.
    """
    ours = theirs = 0.0
    count = 0
    _script(songs[0])
    _ours(songs[0])
    for song in songs:
        start = time.process_time()
        if not _ours(song):
            continue
        middle = time.process_time()
        _script(song)
        theirs += time.process_time() - middle
        ours += middle - start
        count += 1
    return theirs / count, ours / count, count


def _script(song: Path) -> bytes:
    from music21 import converter
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        # The bytes are parsed each time; the pickle that music21 keeps of a file would not be.
        score = converter.parseData(song.read_text(encoding="utf-8"), format="musicxml")
        data: bytes = GeneralObjectExporter(score.transpose("M2")).parse()
    return data


def _ours(song: Path) -> bool:
    from variants.errors import NeckwiseError

    recipe = usual_recipes()[_RECIPE]
    try:
        variant = make_variant(
            read_raw(song.read_bytes()),
            tuple(item for item in recipe.items if callable(item)),
            recipe.wishes(),
        )
    except NeckwiseError:
        return False
    written(variant.score, staves=recipe.staves, places=recipe.places)
    return True
