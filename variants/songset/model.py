"""What a set file may say, checked by pydantic."""

from __future__ import annotations

import re
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

from variants.errors import NeckwiseError
from variants.guitar import parse_tuning
from variants.pins import Pin
from variants.prepare import parse_scale_length
from variants.recipes.model import NAME_PATTERN, HandText, Recipe

FIELDS = ("song", "variant", "number")
_FIELD = re.compile(r"\{([^{}]*)\}")
_PLAIN = re.compile(r"[^\0-\x1f\\:*?\"<>|]+")
_MOST_CAPO, _MOST_FRETS = 24, 36

Output = Literal["musicxml", "mxl", "pdf", "html", "midi", "svg", "handout"]
Name = Annotated[str, Field(pattern=NAME_PATTERN)]


def _kebab(name: str) -> str:
    return name.replace("_", "-")


def _is_scale(text: str) -> str:
    try:
        if text:
            parse_scale_length(text)
    except NeckwiseError as error:
        raise ValueError(str(error)) from None
    return text


def _is_tuning(text: str) -> str:
    try:
        if text:
            parse_tuning(text)
    except NeckwiseError as error:
        raise ValueError(str(error)) from None
    return text


def _is_pattern(text: str) -> str:
    unknown = [name for name in _FIELD.findall(text) if name not in FIELDS]
    shown = ", ".join(f"{{{name}}}" for name in FIELDS)
    if unknown:
        raise ValueError(f"{{{unknown[0]}}} stands for nothing; use {shown}")
    if "{variant}" not in text:
        raise ValueError("all variants would get one name; put {variant} into it")
    if "{song}" not in text and "{number}" not in text:
        raise ValueError("all songs would get one name; put {song} into it")
    bare = _FIELD.sub("x", text)
    parts = bare.split("/")
    if not _PLAIN.fullmatch(bare) or any(part in ("", ".", "..") for part in parts):
        raise ValueError("is no name for a file in the output folder; use letters, digits, - and /")
    if parts[0].startswith("."):
        raise ValueError("begins with a dot, which is kept for neckwise; use another name")
    if parts[0].casefold() == "pictures":
        raise ValueError("begins with pictures, which is for the index page; use another name")
    return text


def _some(values: tuple[Any, ...]) -> tuple[Any, ...]:
    # pydantic's own bound counts the items that are right, and so speaks twice of a wrong one.
    if not values:
        raise ValueError("is empty; name at least one")
    return values


def _is_folder(text: str) -> str:
    if not text.strip() or "\0" in text:
        raise ValueError("is no folder; name one, as in out")
    return text


class Table(BaseModel):
    """A table of the set file: nothing in it that is not known, and it never changes."""

    model_config = ConfigDict(
        frozen=True, extra="forbid", alias_generator=_kebab, populate_by_name=True
    )


class Front(Table):
    """What stands at the front of the set; ``rights`` goes into songs that name none."""

    title: str = Field(default="", description="Title of the set.")
    subtitle: str = Field(default="", description="A line under the title.")
    author: str = Field(default="", description="Who made the set.")
    rights: str = Field(
        default="", description="Rights line; also printed on songs whose file names none."
    )
    note: str = Field(default="", description="A few words to the reader of the index page.")


class Build(Table):
    """What is made, and where it goes."""

    folder: Annotated[str, AfterValidator(_is_folder)] = Field(
        default="out", description="Output folder, from the folder of this file."
    )
    names: Annotated[str, AfterValidator(_is_pattern)] = Field(
        default="{song}/{variant}",
        description="Names of files without ending: {song}, {variant}, {number} (of the song).",
    )
    outputs: Annotated[tuple[Output, ...], AfterValidator(_some)] = Field(
        default=("musicxml",),
        description="What is written of each variant; of the whole song: handout, all variants "
        "in one PDF, and html, all of them side by side with sound.",
    )
    recipe_files: tuple[str, ...] = Field(
        default=(), description="Files of recipes; later ones go before earlier ones."
    )
    recipes: tuple[str, ...] = Field(
        default=(), description="Recipes for every song that names none itself."
    )
    levels: tuple[str, ...] = Field(
        default=(), description="Levels for every song that names none itself."
    )
    index: bool = Field(default=True, description="Make a page of all songs.")
    pictures: bool = Field(default=True, description="Show the first line of each song there.")
    level: str = Field(default="", description="The level whose coverage the page shows.")


class Sheets(Table):
    """How PDF, HTML and SVG look; as the options of ``neckwise sheet``."""

    paper: Literal["a4", "letter"] = Field(default="a4", description="Paper.")
    size: Literal["normal", "large"] = Field(default="normal", description="Size of print.")
    measures: int = Field(
        default=4, ge=0, le=16, description="Most measures on a line; 0 lets the width decide."
    )
    left_handed: bool = Field(default=False, description="Draw necks for a left-handed player.")


class Pupil(Table):
    """Whom the set is for; holds where a recipe does not say it."""

    hand: HandText | None = Field(
        default=None,
        description="Size of the fretting hand: small, medium, large, or its reach in mm.",
    )
    scale: Annotated[str, AfterValidator(_is_scale)] = Field(
        default="", description="Length of the open string in mm, or a size such as 3/4."
    )


class Strung(Table):
    """The instrument; holds where a recipe does not say it."""

    tuning: Annotated[str, AfterValidator(_is_tuning)] = Field(
        default="", description="The tuning the pieces are in: a name or notes."
    )
    capo: int | None = Field(
        default=None, ge=0, le=_MOST_CAPO, description="Fret of the capo; the sound stays."
    )
    frets: int | None = Field(default=None, ge=1, le=_MOST_FRETS, description="Number of frets.")


class SongTable(Table):
    """One song, or all songs of a pattern. A song that is named alone is not taken by a pattern."""

    source: str = Field(
        min_length=1, description="A MusicXML file, or a pattern: songs/*.musicxml, **/*.mxl."
    )
    name: Name | None = Field(
        default=None, description="Name in the names of files; that of the source if not said."
    )
    title: str = Field(default="", description="Title, where it differs from the file's.")
    composer: str = Field(default="", description="Composer, where it differs.")
    arranger: str = Field(default="", description="Arranger, where it differs.")
    rights: str = Field(default="", description="Rights line, where it differs.")
    part: str = Field(default="", description="Id or name of the part that is for the player.")
    reading: Literal["auto", "guitar", "concert"] = Field(
        default="auto", description="How a plain treble clef sounds."
    )
    recipes: tuple[str, ...] | None = Field(
        default=None, description="Recipes for this song instead of the build's."
    )
    levels: tuple[str, ...] | None = Field(
        default=None, description="Levels for this song instead of the build's."
    )
    skip: tuple[str, ...] = Field(
        default=(), description="Variants that are not made of this song."
    )
    outputs: Annotated[tuple[Output, ...], AfterValidator(_some)] | None = Field(
        default=None, description="Outputs for this song instead of the build's."
    )
    pupil: Pupil = Field(default=Pupil(), description="Whom this song is for.")
    instrument: Strung = Field(default=Strung(), description="The instrument for this song.")
    variants: dict[Name, Recipe] = Field(
        default={},
        description="Changes to recipes for this song: what is said here goes before the recipe.",
    )


class SetFile(Table):
    """A set of songs, and what is made of each."""

    model_config = ConfigDict(
        frozen=True,
        extra="forbid",
        alias_generator=_kebab,
        populate_by_name=True,
        title="neckwise song set",
    )

    front: Front = Field(default=Front(), description="What stands at the front.")
    build: Build = Field(default=Build(), description="What is made, and where it goes.")
    sheets: Sheets = Field(default=Sheets(), description="How drawings and pages look.")
    pupil: Pupil = Field(default=Pupil(), description="Whom the set is for.")
    instrument: Strung = Field(default=Strung(), description="The instrument.")
    variants: dict[Name, Recipe] = Field(
        default={}, description="Recipes of this set, besides those of recipe-files."
    )
    pins: tuple[Pin, ...] = Field(
        default=(),
        description="Strings, frets, fingers and positions that somebody has settled; piece names "
        "the song. What stands in a file SONG.pins.toml beside a source holds too.",
    )
    songs: Annotated[tuple[SongTable, ...], AfterValidator(_some)] = Field(description="The songs.")
