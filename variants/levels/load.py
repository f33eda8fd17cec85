"""Read level files: TOML, a level that extends another, and errors with the line they are on."""

from __future__ import annotations

import json
from difflib import get_close_matches
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from variants.errors import InputError, UsageError
from variants.levels.level import Level
from variants.toml_file import TomlLines, parse_toml, read_text

LADDER = tuple(f"level-{number}" for number in range(1, 7))
ENDING = ".toml"
# No ladder is so long; more is a circle that the names hide.
_MOST_PARENTS = 32


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
    text = read_text(path)
    key = str(path.resolve())
    return _checked(_merged(text, str(path), path.parent, (*above, key)), text, str(path))


def _merged(text: str, place: str, folder: Path | None, above: tuple[str, ...]) -> dict[str, Any]:
    """Return the tables of a level over those of the level that it extends."""
    tables = parse_toml(text, place)
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
        text = read_text(where)
    found = _merged(text, where, inside, (*above, key))
    _checked(found, text, where)
    return found


def _checked(tables: dict[str, Any], text: str, place: str) -> Level:
    try:
        return Level.model_validate(tables)
    except ValidationError as error:
        first = error.errors()[0]
        names = list(first["loc"])
        line = TomlLines(text).at(names)
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
