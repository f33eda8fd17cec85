"""Small levels and placed lines for the tests of levels."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from tests.strategies import line
from variants.levels import Level
from variants.score import Note, Place, Score, map_notes, with_parts


def level(areas: Any = None, **limits: Any) -> Level:  # noqa: ANN401 - as a TOML file
    """Return a level with the limits that are named, and no others."""
    stated = {name.replace("_", "-"): {"value": value} for name, value in limits.items()}
    return Level.model_validate({"name": "made", "limits": stated, "areas": areas or []})


def placed(text: str, *places: str) -> Score:
    """Return a line whose notes stand at ``string:fret/finger``, in the order of the source."""
    score = line(*text.split(" | "))
    rest = iter(places)

    def of_note(note: Note) -> Note:
        where, _, finger = next(rest).partition("/")
        string, fret = where.split(":")
        return replace(note, place=Place(int(string), int(fret)), finger=finger or "0")

    return with_parts(score, [map_notes(score.parts[0], of_note)])
