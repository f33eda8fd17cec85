"""Makes a score ready for paper: a tab that would stay empty is fingered first."""

from __future__ import annotations

from variants.finish import finish
from variants.musicxml import Staves
from variants.score import Part, Score, notes


def ready(score: Score, *, staves: Staves | str) -> Score:
    """Return the score with places for all notes that its tab will show.

    A score that is printed without tab, or has all its places, is returned as it is.

    Args:
        score: The score, octaves and strings settled (`variants.prepare`).
        staves: What will be printed.

    Raises:
        UsageError: There is no such layout.
        Unplayable: No hand can play an onset.
        Refusal: A note cannot be stopped at any fret.
    """
    wish = Staves.parse(staves)
    if any(_lacks_places(part, wish) for part in score.parts):
        return finish(score).score
    return score


def _lacks_places(part: Part, wish: Staves) -> bool:
    layout = part.layout if wish is Staves.SOURCE else wish.value
    if part.instrument is None or layout not in ("tab", "both"):
        return False
    return any(note.place is None and note.pitch is not None for note in notes(part))
