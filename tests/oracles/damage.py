"""One damaged file, the whole way: what must not happen to it is found and told."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache
from pathlib import Path

from tests.oracles.corpus_files import corpus_files
from tests.unit.musicxml.mutation import mutated
from tests.xsd import validate
from variants.errors import ContractBroken, InputError, NeckwiseError, OutputError
from variants.finish import finish
from variants.musicxml import read_bytes, to_bytes
from variants.musicxml.source import unpacked
from variants.pipeline import parse_pipeline, run
from variants.score import STANDARD_GUITAR, Score

ROOT = Path(__file__).parents[2]
# Larger files take the time of many cases and hold nothing that the others do not.
_MOST_BYTES = 60_000
PIPELINES = (
    ("transpose:interval=m3",),
    ("transpose:interval=-A4", "fold-octaves"),
    ("reduce-chords:to=root", "single-string"),
    ("simplify-rhythm:grid=eighth,keep=strong",),
    ("invert-dyads",),
    ("drop-ornaments",),
    ("scale-values:factor=2",),
    ("reduce-chords:to=top",),
    ("expand-repeats",),
    ("measures:from=1,to=2",),
)


@cache
def files(*, corpus: bool = True) -> tuple[Path, ...]:
    """Return the files that are damaged: ours, and the small ones that music21 ships.

    Args:
        corpus: Take those of music21 too.
    """
    ours = [
        *sorted((ROOT / "samples").glob("*.musicxml")),
        *sorted((ROOT / "tests" / "data" / "musicxml").glob("*.musicxml")),
    ]
    theirs = [path for path in corpus_files() if _size(path) < _MOST_BYTES] if corpus else []
    return (*ours, *theirs)


def _size(path: Path) -> int:
    """Return how many bytes of XML a file holds; more than any for one that holds none."""
    try:
        return len(unpacked(path.read_bytes()))
    except InputError:
        return _MOST_BYTES


def damaged(seed: int, *, corpus: bool = True) -> bytes:
    """Return the damaged file of a seed."""
    known = files(corpus=corpus)
    return mutated(unpacked(known[seed % len(known)].read_bytes()), seed)


def faults(data: bytes, seed: int) -> list[str]:
    """Take a file the whole way and return what must not be, one line each.

    It is read or refused; what is read is written in two layouts, valid each time, and read again;
    a pipeline is run on it; one in four is fingered. Whatever is refused is refused in one line
    with a way out. Errors that are not of our family are not caught.
    """
    found: list[str] = []
    try:
        score = read_bytes(data)
    except InputError as error:
        return _told(error, "read")
    for staves in ("source", "both"):
        found += _written(score, staves)
    draw = random.Random(seed)  # noqa: S311 - repeatable choice, nothing secret
    steps = draw.choice(PIPELINES)
    try:
        outcome = run(_for_guitar(score), parse_pipeline(steps).steps)
        made = outcome.score
        if seed % 4 == 0:
            made = finish(made).score
        found += [f"{steps}: {line}" for line in _written(made, "both")]
    except ContractBroken as error:
        found.append(f"{steps}: contract broken: {error}")
    except NeckwiseError as error:
        found += _told(error, " -> ".join(steps))
    return found


def _for_guitar(score: Score) -> Score:
    parts = tuple(
        part if part.instrument else replace(part, instrument=STANDARD_GUITAR)
        for part in score.parts[:1]
    )
    return replace(score, parts=parts)


def _written(score: Score, staves: str) -> list[str]:
    try:
        data = to_bytes(score, staves=staves)
    except OutputError as error:
        return _told(error, f"write {staves}")
    lines = [f"written as {staves}: {line}" for line in validate(data)[:1]]
    try:
        read_bytes(data, reading="concert")
    except InputError as error:
        lines.append(f"written as {staves}, read again: {error}")
    return lines


def _told(error: NeckwiseError, where: str) -> list[str]:
    text = str(error)
    if "\n" in text or not error.cause or not error.way_out:
        return [f"{where}: no line with cause and way out: {text!r}"]
    return []
