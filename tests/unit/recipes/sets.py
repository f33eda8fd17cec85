"""Which recipes the samples are put through, and which of them cannot be made."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from variants.family import has_family, make_family
from variants.musicxml import read_raw
from variants.recipes import Recipe
from variants.score import Score
from variants.steps import Step, is_family
from variants.variant import Variant, make_variant

SAMPLES = sorted((Path(__file__).parents[3] / "samples").glob("*.musicxml"))
# Sample, recipe, and words of the refusal: what is musically impossible, and nothing else.
_REFUSED: dict[tuple[str, str], str] = {
    ("lantern-arpeggio", "position-5"): "cannot be played together in position V",
    ("lantern-arpeggio", "one-string-6"): "the line spans 24 semitones",
    ("lantern-arpeggio", "one-string-5"): "the line spans 24 semitones",
    ("lantern-arpeggio", "one-string-1"): "the line spans 24 semitones",
    ("lantern-arpeggio", "each-string"): "the line spans 24 semitones",
    ("low-tide-study", "position-5"): "G2 cannot be played in position V",
}


@lru_cache(maxsize=16)
def _read(path: Path) -> Score:
    return read_raw(path.read_bytes())


def made(sample: Path, recipe: Recipe) -> list[Variant]:
    """Return the variants that a recipe makes of the first part for guitar of a sample."""
    score = _read(sample)
    wishes = recipe.wishes(part=score.parts[0].id if len(score.parts) > 1 else "")
    items = recipe.items
    if has_family(items):
        return [variant for _, variant in make_family(score, items, wishes)]
    steps: list[Step] = [item for item in items if not is_family(item)]  # type: ignore[misc]
    return [make_variant(score, steps, wishes)]


def expected_refusal(sample: str, recipe: str) -> str:
    """Return words of the refusal that is expected; empty for none."""
    return _REFUSED.get((sample, recipe), "")
