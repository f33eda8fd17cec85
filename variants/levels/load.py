"""Read level files: TOML, a level that extends another, and errors with the line they are on."""

from __future__ import annotations

import json
import re
import tomllib
from difflib import get_close_matches
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from variants.errors import InputError, UsageError
from variants.levels.level import Level

LADDER = tuple(f"level-{number}" for number in range(1, 7))
ENDING = ".toml"
# No ladder is so long; more is a circle that the names hide.
_MOST_PARENTS = 32
_MOST_BYTES = 2**20
_HEAD = re.compile(r"\s*(\[\[?)\s*([^\]]+?)\s*\]")
_KEY = re.compile(r"\s*(\"[^\"]+\"|[A-Za-z0-9_-]+)\s*=")


def load_level(name: str | Path) -> Level:
    """Return a level by its name, or from a teacher's own file that ends in ``.toml``.

    Raises:
        UsageError: There is no such level, or levels extend each other in a circle.
        InputError: The file cannot be read or is no level; names its line.
    """
    if str(name).endswith(ENDING):
        return _resolved(Path(name), ())
    if str(name) not in LADDER:
        found = get_close_matches(str(name), LADDER, n=1)
        hint = f"did you mean {found[0]}? " if found else ""
        raise UsageError(
            f"there is no level {str(name)!r}",
            way_out=f"{hint}the levels are {', '.join(LADDER)}, or a file of yours in {ENDING}",
        )
    return _built_in(str(name))


@lru_cache(maxsize=16)
def _built_in(name: str) -> Level:
    return _checked(_merged(_text_of(name), name, None, (name,)), _text_of(name), name)


def load_ladder(names: tuple[str, ...] = LADDER) -> tuple[Level, ...]:
    """Return the levels of a ladder, the easiest first; ours if none are named."""
    return tuple(load_level(name) for name in names)


def level_schema() -> str:
    """Return the JSON Schema of level files, as ``docs/level.schema.json`` has it."""
    schema = Level.model_json_schema(by_alias=True)
    schema["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    return json.dumps(schema, indent=2, ensure_ascii=False) + "\n"


def _text_of(name: str) -> str:
    folder = resources.files("variants.levels") / "ladder"
    return (folder / f"{name}{ENDING}").read_text(encoding="utf-8")


def _resolved(path: Path, above: tuple[str, ...]) -> Level:
    text = _read(path)
    key = str(path.resolve())
    return _checked(_merged(text, str(path), path.parent, (*above, key)), text, str(path))


def _read(path: Path) -> str:
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise InputError(
                "is larger than a level file can be", place=str(path), way_out="check the name"
            )
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise InputError(
            f"cannot be read: {(error.strerror or str(error)).lower()}",
            place=str(path),
            way_out="check the name",
        ) from None
    except UnicodeDecodeError:
        raise InputError("is no text", place=str(path), way_out="save it as UTF-8") from None


def _merged(text: str, place: str, folder: Path | None, above: tuple[str, ...]) -> dict[str, Any]:
    """Return the tables of a level over those of the level that it extends."""
    tables = _parsed(text, place)
    wanted = tables.get("extends", "")
    if not wanted or not isinstance(wanted, str):
        return tables
    if len(above) > _MOST_PARENTS:
        raise UsageError(
            f"more than {_MOST_PARENTS} levels extend each other",
            place=place,
            way_out="write the limits into fewer files",
        )
    parent = _parent(wanted, place, folder, above)
    # What is wrong in this file must be told with its own lines, before it is mixed.
    _checked(tables, text, place)
    merged = {**parent, **tables}
    merged["limits"] = {**parent.get("limits", {}), **tables.get("limits", {})}
    merged["areas"] = [*parent.get("areas", []), *tables.get("areas", [])]
    return merged


def _parent(wanted: str, place: str, folder: Path | None, above: tuple[str, ...]) -> dict[str, Any]:
    if not wanted.endswith(ENDING):
        if wanted not in LADDER:
            raise UsageError(
                f"extends {wanted!r}, which is no level",
                place=place,
                way_out=f"name one of {', '.join(LADDER)}, or a file in {ENDING}",
            )
        key = wanted
        text, where, inside = _text_of(wanted), wanted, None
    else:
        path = (folder or Path()) / wanted
        key = str(path.resolve())
        text, where, inside = "", str(path), path.parent
    if key in above:
        raise UsageError(
            f"extends {wanted!r}, which extends it in turn",
            place=place,
            way_out="let the easier level stand alone",
        )
    if not text:
        text = _read(Path(where))
    found = _merged(text, where, inside, (*above, key))
    _checked(found, text, where)
    return found


def _parsed(text: str, place: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        found = re.search(r"\(at line (\d+)", str(error))
        # What is missing at the end of the file is missing on its last line.
        line = found.group(1) if found else str(max(1, len(text.splitlines())))
        where = f"{place}, line {line}"
        cause = re.sub(r"\s*\(at .*\)", "", str(error))
        raise InputError(
            f"is no TOML: {cause[:1].lower()}{cause[1:]}", place=where, way_out="correct it"
        ) from None


def _checked(tables: dict[str, Any], text: str, place: str) -> Level:
    try:
        return Level.model_validate(tables)
    except ValidationError as error:
        first = error.errors()[0]
        names = list(first["loc"])
        line = _line_of(text, names)
        key = ".".join(str(part) for part in names)
        raise InputError(
            f"{key or 'the level'}: {_said(first['msg'], first['type'])}",
            place=f"{place}, line {line}",
            way_out="docs/level.schema.json says what may stand there",
        ) from None


def _said(message: str, kind: str) -> str:
    if kind == "extra_forbidden":
        return "there is no such key"
    if kind == "missing":
        return "is missing"
    plain = message.removeprefix("Value error, ")
    return plain[:1].lower() + plain[1:]


def _line_of(text: str, names: list[int | str]) -> int:
    """Return the line on which a value stands: that of its key, else of its table, else 1."""
    wanted = [str(part) for part in names]
    best, line_found = 0, 1
    table: list[str] = []
    counts: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        head = _HEAD.match(line)
        path = list(table)
        if head:
            table = [part.strip().strip('"') for part in head.group(2).split(".")]
            if head.group(1) == "[[":
                index = counts.get(table[0], 0)
                counts[table[0]] = index + 1
                table = [*table, str(index)]
            path = list(table)
        else:
            key = _KEY.match(line)
            if not key:
                continue
            path.append(key.group(1).strip('"'))
        if len(path) > best and path == wanted[: len(path)]:
            best, line_found = len(path), number
    return line_found
