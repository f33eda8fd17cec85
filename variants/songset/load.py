"""Reads a set file: checks it, looks every name up, and fills in what is left out."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from variants.errors import NeckwiseError, UsageError
from variants.levels.load import LADDER, load_level
from variants.pins import Pin
from variants.recipes import Recipe, read_recipes, usual_recipes
from variants.songset.faults import fault, no_such
from variants.songset.model import Pupil, SetFile, SongTable, Strung
from variants.songset.resolved import SongEntry, SongSet, Wanted
from variants.toml_file import TomlLines, parse_toml, read_text

_ENDING = ".toml"
_FRONT = ("title", "composer", "arranger", "rights")


def parse_set(text: str, *, name: str, folder: Path) -> SongSet:
    """Return the song set of a TOML text, ready to be planned.

    Args:
        text: The TOML.
        name: What to call it in errors.
        folder: The folder from which its names of files count.

    Raises:
        UsageError: It has a fault; the first one, with its line, and how many more there are.
        InputError: A file of recipes or a level that it names cannot be read.
    """
    lines = TomlLines(text)
    return _Reader(lines, name, folder, _checked(text, lines, name)).made()


def _checked(text: str, lines: TomlLines, name: str) -> SetFile:
    values = parse_toml(text, name)
    try:
        return SetFile.model_validate(values)
    except ValidationError as error:
        faults = [fault(lines, name, one) for one in error.errors(include_url=False)]
        first = min(faults, key=_line)
        if len(faults) == 1:
            raise first from None
        more = f"{len(faults) - 1} more fault{'s' * (len(faults) > 2)} in this file"
        raise UsageError(
            first.cause, place=first.place, way_out=f"{first.way_out} ({more})"
        ) from None


def _line(error: NeckwiseError) -> int:
    return int(error.place.rpartition(" ")[2])


@dataclass(slots=True)
class _Reader:
    """Looks up what one set file names."""

    lines: TomlLines
    name: str
    folder: Path
    file: SetFile
    known: dict[str, Recipe] = field(init=False)
    levels: dict[str, Mapping[str, Any]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.known = dict(usual_recipes())
        for index, one in enumerate(self.file.build.recipe_files):
            with self._placed("build", "recipe-files", index):
                self.known |= read_recipes(self.folder / one)
        self.known |= self.file.variants

    def made(self) -> SongSet:
        build = self.file.build
        entries = tuple(self._entry(index, song) for index, song in enumerate(self.file.songs))
        level: Mapping[str, Any] = {}
        if build.level:
            level = self._level(build.level, ("build", "level"))
        return SongSet(
            front={name: text for name, text in self.file.front if text},
            folder=build.folder,
            names=build.names,
            index=build.index,
            pictures=build.pictures,
            level=level,
            hand=self.file.pupil.hand or "medium",
            look=self.file.sheets.model_dump(),
            entries=entries,
            pins=tuple(self._pin(index, pin) for index, pin in enumerate(self.file.pins)),
        )

    def _pin(self, index: int, pin: Pin) -> Mapping[str, Any]:
        if not pin.piece:
            self._fail(
                f"pin {index + 1}: piece is missing",
                ("pins", index),
                "name the song, or put the pin into the file SONG.pins.toml beside it",
            )
        return pin.model_dump(mode="json", by_alias=True, exclude_defaults=True)

    def _entry(self, index: int, song: SongTable) -> SongEntry:
        here = ("songs", index)
        is_pattern = any(sign in song.source for sign in "*?[")
        for one in ("name", "title"):
            if is_pattern and getattr(song, one):
                self._fail(
                    f"song {index + 1}: a pattern is of several songs, which cannot share a {one}",
                    (*here, one),
                    f"leave {one} out, or give the song a [[songs]] of its own",
                )
        outputs = song.outputs or self.file.build.outputs
        return SongEntry(
            source=song.source,
            line=self.lines.at((*here, "source")),
            name=song.name or "",
            front={name: getattr(song, name) for name in _FRONT if getattr(song, name)},
            part=song.part,
            reading=song.reading,
            outputs=tuple(dict.fromkeys(outputs)),
            variants=tuple(self._wanted(index, song)),
        )

    def _wanted(self, index: int, song: SongTable) -> Iterable[Wanted]:
        recipes = self._recipes(index, song)
        levels = self._levels(index, song)
        found = {**recipes, **levels}
        if len(found) < len(recipes) + len(levels):
            both = next(name for name in recipes if name in levels)
            self._fail(f"{both!r} names a recipe and a level", ("songs", index), "rename one")
        for place, name in enumerate(song.skip):
            if name not in found:
                cause, way_out = no_such("variant to skip", name, found)
                self._fail(f"song {index + 1}: {cause}", ("songs", index, "skip", place), way_out)
        kept = [one for name, one in found.items() if name not in song.skip]
        if not kept:
            self._fail(
                f"song {index + 1}: there is nothing to make of it",
                ("songs", index),
                "name recipes or levels, here or under [build]",
            )
        return kept

    def _recipes(self, index: int, song: SongTable) -> dict[str, Wanted]:
        path: tuple[str | int, ...] = ("songs", index, "recipes")
        names = song.recipes
        if names is None:
            path, names = ("build", "recipes"), self.file.build.recipes
            nothing_is_named = not (names or self.file.build.levels or song.levels)
            names = tuple(self.file.variants) if nothing_is_named else names
        for place, name in enumerate(names):
            if name not in self.known and name not in song.variants:
                cause, way_out = no_such("recipe", name, self.known)
                self._fail(cause, (*path, place), way_out)
        wanted = dict.fromkeys((*names, *song.variants))
        return {name: self._from_recipe(name, song) for name in wanted}

    def _from_recipe(self, name: str, song: SongTable) -> Wanted:
        values = _said(self.known.get(name, Recipe()))
        values |= _said(song.variants.get(name, Recipe()))
        recipe = self._filled(values, song)
        title = recipe.title or name.replace("-", " ")
        return Wanted(name=name, title=title, spec={"recipe": _spec(recipe)})

    def _levels(self, index: int, song: SongTable) -> dict[str, Wanted]:
        path: tuple[str | int, ...] = ("songs", index, "levels")
        names = song.levels
        if names is None:
            path, names = ("build", "levels"), self.file.build.levels
        found: dict[str, Wanted] = {}
        for place, name in enumerate(names):
            level = self._level(name, (*path, place))
            short = _slug(Path(name).stem) if name.endswith(_ENDING) else name
            title = f"{short.replace('-', ' ').capitalize()}: {level.get('title', '')}".rstrip(": ")
            spec = {"recipe": _spec(self._filled({}, song)), "level": level}
            found[short] = Wanted(name=short, title=title, spec=spec)
        return found

    def _level(self, name: str, path: tuple[str | int, ...]) -> Mapping[str, Any]:
        if name in self.levels:
            return self.levels[name]
        with self._placed(*path):
            if name not in LADDER and not name.endswith(_ENDING):
                cause, way_out = no_such("level", name, LADDER)
                raise UsageError(cause, way_out=f"{way_out} Or name a file in {_ENDING}")
            level = load_level(self.folder / name if name.endswith(_ENDING) else name)
        values: Mapping[str, Any] = level.model_dump(
            mode="json", by_alias=True, exclude_defaults=True
        )
        self.levels[name] = values
        return values

    def _filled(self, values: dict[str, Any], song: SongTable) -> Recipe:
        """Return a recipe in which pupil and instrument stand for what it does not say."""
        of_song: tuple[Pupil | Strung, ...] = (song.pupil, song.instrument)
        of_set: tuple[Pupil | Strung, ...] = (self.file.pupil, self.file.instrument)
        for table in (*of_song, *of_set):
            for name, value in table:
                if name not in values and value not in ("", None):
                    values[name] = value
        return Recipe.model_validate(values)

    def _fail(self, cause: str, path: tuple[str | int, ...], way_out: str) -> None:
        place = f"{self.name}, line {self.lines.at(path)}"
        raise UsageError(cause, place=place, way_out=way_out)

    def _placed(self, *path: str | int) -> _Placed:
        return _Placed(f"{self.name}, line {self.lines.at(path)}")


@dataclass(slots=True)
class _Placed:
    """Puts the line of the set file before an error in what that line names."""

    place: str

    def __enter__(self) -> None:
        pass

    def __exit__(self, kind: object, error: BaseException | None, _: object) -> None:
        if isinstance(error, NeckwiseError):
            raise error.at(self.place) from None


def _said(recipe: Recipe) -> dict[str, Any]:
    return {name: getattr(recipe, name) for name in recipe.model_fields_set}


def _spec(recipe: Recipe) -> dict[str, Any]:
    return recipe.model_dump(mode="json", by_alias=True, exclude_defaults=True, exclude={"title"})


def _slug(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-") or "level"


def level_files(text: str, folder: Path) -> list[Path]:
    """Return the files of recipes and levels that a checked set file hangs on.

    Levels that a level extends are among them.

    Args:
        text: The set file.
        folder: Its folder.
    """
    values = parse_toml(text, "")
    build = values.get("build", {})
    names = [*build.get("recipe-files", ()), *build.get("levels", ()), build.get("level", "")]
    for song in values.get("songs", ()):
        names += song.get("levels", ())
    waiting = [folder / name for name in dict.fromkeys(names) if name.endswith(_ENDING)]
    found: dict[Path, None] = {}
    while waiting:
        path = waiting.pop()
        if path in found:
            continue
        found[path] = None
        extends = parse_toml(read_text(path), str(path)).get("extends", "")
        if isinstance(extends, str) and extends.endswith(_ENDING):
            waiting.append(path.parent / extends)
    return list(found)
