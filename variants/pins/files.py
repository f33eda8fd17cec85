"""Reads and writes files of pins."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from variants.errors import UsageError
from variants.pins.model import Pin, PinFile
from variants.toml_file import TomlLines, parse_toml, read_text

ENDING = ".pins.toml"
_DIGITS = re.compile(r"(\d+)")
_WORDS = {"extra_forbidden": "there is no such setting", "missing": "is missing"}


def read_pins(path: str | Path) -> tuple[Pin, ...]:
    """Return the pins of a TOML file, in its order.

    Raises:
        InputError: The file cannot be read.
        UsageError: It has a fault; the first one, with its line.
    """
    text = read_text(path)
    try:
        return PinFile.model_validate(parse_toml(text, str(path))).pins
    except ValidationError as error:
        raise _fault(text, str(path), error.errors(include_url=False)[0]) from None


def _fault(text: str, name: str, error: Any) -> UsageError:  # noqa: ANN401 -- pydantic's own shape
    path = tuple(error["loc"])
    cause = _WORDS.get(error["type"], str(error["msg"]).removeprefix("Value error, "))
    shown = f"pin {path[1] + 1}" if len(path) > 1 and isinstance(path[1], int) else "the file"
    member = f", {path[2]}" if len(path) > 2 else ""
    return UsageError(
        f"{shown}{member}: {cause[:1].lower()}{cause[1:]}",
        place=f"{name}, line {TomlLines(text).at(path)}",
        way_out="see docs/pins.schema.json for what may stand there",
    )


def pins_toml(pins: Iterable[Pin]) -> str:
    """Return pins as TOML, in the order of the music; only what is said is written.

    >>> print(pins_toml([Pin(measure="3", beat="2", note="E4", string=3, fret=9)]), end="")
    [[pins]]
    measure = "3"
    beat = "2"
    note = "E4"
    string = 3
    fret = 9
    """
    ordered = sorted(pins, key=lambda pin: tuple(map(_natural, pin.where)))
    return "\n".join(
        "\n".join(["[[pins]]", *_lines(pin.model_dump(by_alias=True, exclude_defaults=True))])
        + "\n"
        for pin in ordered
    )


def _lines(values: dict[str, Any]) -> Iterable[str]:
    # The strings and lists of JSON are those of TOML.
    return (f"{key} = {json.dumps(value, ensure_ascii=False)}" for key, value in values.items())


def _natural(text: str) -> list[tuple[int, int | str]]:
    """Return what sorts measure 9 before measure 10."""
    words = (word for word in _DIGITS.split(text) if word)
    return [(0, int(word)) if word.isdecimal() else (1, word) for word in words]


def merged(known: Iterable[Pin], new: Iterable[Pin]) -> tuple[Pin, ...]:
    """Return pins with new ones, each in the place of an older one of the same note."""
    found = {pin.where: pin for pin in known}
    for pin in new:
        before = found.get(pin.where)
        said = before.model_dump(exclude_defaults=True) if before else {}
        found[pin.where] = Pin.model_validate(said | pin.model_dump(exclude_defaults=True))
    return tuple(found.values())
