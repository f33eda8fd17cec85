"""Good files for the mutation test of the proofreader.

The samples; what the toolkit makes of them with usual steps in every layout, and with every shipped
recipe; and some of these dressed with what the samples lack: hammer-ons, slides, chord diagrams,
endings, jumps, wedges. Everything that is put on is right, so that the proofreader must find no
error.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

from lxml import etree

from tests.oracles.faults.dress import dress
from variants.errors import NeckwiseError, Refusal
from variants.family import has_family, make_family
from variants.finish import finish
from variants.music import Pitch
from variants.musicxml import read, read_raw, to_bytes
from variants.pipeline import parse_pipeline, run
from variants.recipes import usual_recipes
from variants.score import Instrument, Score, with_parts
from variants.steps import Step, is_family
from variants.variant import make_variant, written

SAMPLES = Path(__file__).parents[3] / "samples"
RECIPES = (
    (),
    ("transpose:interval=m3",),
    ("transpose:interval=-M2,octave=fit",),
    ("reduce-chords:to=top",),
    ("reduce-chords:to=dyad",),
    ("invert-dyads",),
    ("simplify-rhythm",),
    ("shift-position:position=5",),
    ("reduce-chords:to=top", "single-string:string=1"),
)
MARKS = "fingering,positions,counting"
LAYOUTS = ("both", "tab", "notation")
_DROP_D = tuple(Pitch.parse(name) for name in ("E4", "B3", "G3", "D3", "A2", "D2"))


@lru_cache(maxsize=2)
def good_files(samples: str = "*") -> dict[str, bytes]:
    """Return the good files by name; the same ones every time.

    Args:
        samples: Which samples to begin with, as a pattern of their names.
    """
    found: dict[str, bytes] = {}
    for path in sorted(SAMPLES.glob(f"{samples}.musicxml")):
        found[path.name] = path.read_bytes()
        source = read(path)
        for number, recipe in enumerate(RECIPES):
            for layout, data in _outputs(source, recipe, number):
                found[f"{path.stem}, {' -> '.join(recipe) or 'as it is'}, {layout}"] = data
        for name, score in _strung(source):
            for layout, data in _outputs(score, (), 0):
                if layout == "notation":
                    continue  # a notation staff alone does not say how it is strung
                found[f"{path.stem}, {name}, {layout}"] = data
        found |= _by_recipes(path)
    dressed = {
        f"{name}, dressed": dress(data, marked_capo="capo" in name)
        for name, data in found.items()
        if "as it is" in name or "capo" in name or "drop" in name
    }
    return {**found, **dressed}


def _outputs(source: Score, recipe: tuple[str, ...], number: int) -> Iterator[tuple[str, bytes]]:
    try:
        score = run(source, parse_pipeline(recipe).steps).score if recipe else source
        done = finish(score, marks=MARKS, keep_places=False).score
    except Refusal:
        return
    # One layout for each recipe in turn; all of them for the piece as it is.
    for layout in LAYOUTS if not recipe else (LAYOUTS[number % 3],):
        yield layout, to_bytes(done, staves=layout, places=number % 2 == 0)


def _by_recipes(path: Path) -> dict[str, bytes]:
    """Return what every shipped recipe makes of a sample; of a family of variants the first two."""
    score = read_raw(path.read_bytes())
    part = score.parts[0].id if len(score.parts) > 1 else ""
    found: dict[str, bytes] = {}
    for name, recipe in usual_recipes().items():
        wishes = recipe.wishes(part=part)
        try:
            if has_family(recipe.items):
                made = [one for _, one in make_family(score, recipe.items, wishes)][:2]
            else:
                steps: list[Step] = [one for one in recipe.items if not is_family(one)]  # type: ignore[misc]
                made = [make_variant(score, steps, wishes)]
        except NeckwiseError:
            continue  # six pairs are musically impossible (tests/unit/recipes/sets.py)
        for number, variant in enumerate(made, 1):
            data = written(variant.score, staves=recipe.staves, places=recipe.places)
            found[f"{path.stem}, recipe {name} {number}"] = data
    return found


def _strung(source: Score) -> Iterator[tuple[str, Score]]:
    wishes: tuple[tuple[str, dict[str, object]], ...] = (
        ("capo", {"capo": 2}),
        ("drop D", {"open_strings": _DROP_D}),
    )
    for name, change in wishes:
        parts = [
            replace(part, instrument=_changed(part.instrument, change)) for part in source.parts
        ]
        yield name, with_parts(source, parts)


def _changed(instrument: Instrument | None, change: dict[str, object]) -> Instrument | None:
    return None if instrument is None else replace(instrument, **change)  # type: ignore[arg-type]


def tree(data: bytes) -> etree._Element:
    """Return a fresh tree of a good file."""
    return etree.fromstring(data, etree.XMLParser(remove_blank_text=True, no_network=True))
