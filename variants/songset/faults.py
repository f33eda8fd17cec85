"""What pydantic finds in a set file, as errors of ours: file, line, cause, way out."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Any

from pydantic import BaseModel

from variants.errors import UsageError
from variants.pins import Pin
from variants.recipes.model import Recipe
from variants.songset import model
from variants.toml_file import TomlLines

_SCHEMA = "see docs/songset.schema.json for what may stand there"
_WORDS = {
    "missing": "is missing",
    "string_pattern_mismatch": "is no name for a file; use small letters, digits and hyphens",
    "dict_type": "is no table; write it in brackets, as in [build]",
    "model_type": "is no table; write it in brackets, as in [build]",
    "tuple_type": "is no list; write it as in ['one', 'two']",
}
_TABLES: dict[str, type[BaseModel]] = {
    "front": model.Front,
    "build": model.Build,
    "sheets": model.Sheets,
    "pupil": model.Pupil,
    "instrument": model.Strung,
    "pins": Pin,
    "songs": model.SongTable,
}


def fault(lines: TomlLines, name: str, error: Any) -> UsageError:  # noqa: ANN401 - pydantic's own shape
    """Return one of the faults of a set file.

    Args:
        lines: Where what stands in the file.
        name: Its name.
        error: What pydantic says of the fault.
    """
    path = tuple(one for one in error["loc"] if one != "[key]")
    cause, _, way_out = _cause(error).partition("; ")
    if error["type"] == "extra_forbidden":
        way_out = _near(str(path[-1]), _known(path[:-1]))
    if error["type"] == "missing" and path == ("songs",):
        cause, way_out = "there are no songs", "write [[songs]] and source = a file or a pattern"
    shown = _shown(path)
    return UsageError(
        f"{shown}: {cause}" if shown and path != ("songs",) else cause,
        place=f"{name}, line {lines.at(path)}",
        way_out=way_out or _SCHEMA,
    )


def no_such(kind: str, name: str, known: Iterable[str]) -> tuple[str, str]:
    """Return cause and way out where a name is of nothing that there is."""
    return f"there is no {kind} {name!r}", _near(name, known)


def _near(name: str, known: Iterable[str]) -> str:
    names = list(known)
    near = difflib.get_close_matches(name, names, n=1)
    return f"did you mean {near[0]}?" if near else f"there are {', '.join(names)}"


def _known(path: tuple[str | int, ...]) -> list[str]:
    """Return the settings of the table at a path."""
    table: type[BaseModel] = model.SetFile
    for index, one in enumerate(path):
        if isinstance(one, int):
            continue
        if one == "variants":
            table = Recipe
            break
        if index == 0 or one in ("pupil", "instrument"):
            table = _TABLES.get(one, model.SetFile)
    return [name.replace("_", "-") for name in table.model_fields]


def _cause(error: Any) -> str:  # noqa: ANN401 - pydantic's own shape
    kind = error["type"]
    if kind == "value_error":
        return str(error["ctx"]["error"])
    if kind == "literal_error":
        return f"{error['input']!r} is not allowed; use {error['ctx']['expected']}"
    if kind == "extra_forbidden":
        return "there is no such setting"
    if kind in _WORDS:
        return _WORDS[kind]
    message = str(error["msg"]).removesuffix(".")
    return message[:1].lower() + message[1:]


def _shown(path: tuple[str | int, ...]) -> str:
    """Return a path in words: ``song 2, variant slow, steps, number 1``."""
    words: list[str] = []
    rest = list(path)
    while rest:
        one = rest.pop(0)
        following = rest[0] if rest else None
        if one in ("songs", "pins") and isinstance(following, int):
            words.append(f"{str(one).removesuffix('s')} {int(rest.pop(0)) + 1}")
        elif one == "variants" and following is not None:
            words.append(f"variant {rest.pop(0)}")
        elif isinstance(one, int):
            words.append(f"number {one + 1}")
        else:
            words.append(str(one))
    return ", ".join(words)
