"""The JSON Schema of `report.json`; ``python -m variants.songset.report_schema`` prints it.

The models say what a reader of reports can rely on; reports themselves are written piece by piece
(`variants.songset.report`), and tests hold them against the schema.
"""

from __future__ import annotations

import sys
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from variants.recipes.schema import published


def _kebab(name: str) -> str:
    return name.replace("_", "-")


class _Table(BaseModel):
    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=_kebab, populate_by_name=True
    )


Change = Annotated[
    tuple[str, str, str, str], Field(description="Measure, beat, step and what was changed.")
]
Factor = Annotated[
    tuple[str, str, float, str, str],
    Field(description="Group, name, value from 0 to 1, hardest measure, reason in words."),
]
Measure = Annotated[
    tuple[str, str, str],
    Field(
        description="Printed number, a hash of the notes, and how they are played: "
        "string.fret(finger), notes struck together joined by +."
    ),
]


class Hard(_Table):
    """How hard a piece is, 0 to 1, from few of its factors."""

    overall: float = Field(description="All of it.")
    areas: dict[str, float] = Field(description="Reading, rhythm, left hand and right hand.")


class Piece(_Table):
    """One file set: a variant, a member of a family of variants, or a handout."""

    member: str = Field(description="What tells it from others of its family; empty without one.")
    files: dict[str, str] = Field(description="Path of each file in the output folder, by kind.")
    title: str = Field(default="", description="What people call it.")
    song: str = Field(default="", description="Title of the song, as it is printed.")
    level: str = Field(default="", description="The level that it was fitted to; empty for none.")
    steps: tuple[str, ...] = Field(default=(), description="The steps that made it.")
    key_signature: str = Field(default="", description="The key that it begins in.")
    range: tuple[str, str] = Field(
        default=("", ""), description="Lowest and highest sounding pitch."
    )
    positions: str = Field(default="", description="Positions of the hand.")
    strings: tuple[int, int] = Field(
        default=(6, 22), description="Strings of the instrument, and its highest fret."
    )
    kept: tuple[str, ...] = Field(default=(), description="What was proven to be kept.")
    changes: tuple[Change, ...] = Field(default=(), description="What was changed on the way.")
    difficulty: Hard | None = Field(default=None, description="How hard it is.")
    factors: tuple[Factor, ...] = Field(default=(), description="What that is made of.")
    measures: tuple[Measure, ...] = Field(default=(), description="Each measure of each part.")
    pages: int = Field(default=0, description="Pages of a handout.")
    left_out: tuple[str, ...] = Field(default=(), description="What a handout could not hold.")


class VariantUnit(_Table):
    """One unit of work of a song."""

    id: str = Field(description="song/variant")
    name: str = Field(description="Name of the variant, or handout.")
    title: str = Field(description="What people call it.")
    key: str = Field(description="Hash of all that its files come from.")
    state: Literal["made", "refused", "skipped", "failed"]
    reason: str = Field(description="Why it was not made, in one line.")
    pieces: tuple[Piece, ...]


class SongPart(_Table):
    """One song."""

    name: str = Field(description="Name of the song in names of files.")
    number: int = Field(description="Its place in the set, from 1.")
    source: str = Field(description="Its source, from the folder of the set file.")
    title: str = Field(description="Its title.")
    fault: str = Field(description="Why its source cannot be read; empty if it can.")
    variants: tuple[VariantUnit, ...]


class CoverageItem(_Table):
    """One thing that the set's level holds, or that a song has."""

    kind: str
    text: str
    state: Literal["taught", "never met", "met before it is taught"]
    piece: str = Field(description="The first variant that has it.")
    measure: str
    count: int


class Spot(_Table):
    """One place on the neck."""

    string: int
    fret: int
    state: Literal["taught", "never met", "met before it is taught"]
    count: int


class CoveragePart(_Table):
    """What the songs cover of the set's level."""

    level: str
    items: tuple[CoverageItem, ...]
    neck: tuple[Spot, ...]


class Report(_Table):
    """The report of a build. Two equal builds have equal reports; no time stands in them."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=_kebab,
        populate_by_name=True,
        title="neckwise build report",
    )

    neckwise_report: Literal[1] = Field(description="Version of this format.")
    toolkit: str = Field(description="Version of neckwise, with a hash of its files.")
    set: str = Field(description="Name of the set file.")
    front: dict[str, str] = Field(description="Title, rights and the like.")
    songs: tuple[SongPart, ...]
    coverage: CoveragePart | None


def schema_text() -> str:
    """Return the schema as it is published in ``docs/report.schema.json``."""
    return published(Report)


if __name__ == "__main__":
    sys.stdout.write(schema_text())
