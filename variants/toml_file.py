"""Settings that somebody wrote in TOML: bounded in size, each value with its line."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from variants.errors import InputError, UsageError
from variants.files import read_bytes

# Three thousand songs with a table each are half a megabyte.
MOST_BYTES = 10_000_000
_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]#]+?)\s*\]\]?\s*(?:#.*)?$")
_NAME = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_KEY = re.compile(rf"\s*({_NAME}(?:\s*\.\s*{_NAME})*)\s*=(.*)")
_PART = re.compile(_NAME)
_TEXT = re.compile(r"\"(?:\\.|[^\"\\])*\"|'[^']*'")


Keys = tuple[str | int, ...]


def read_text(path: str | Path) -> str:
    """Return the text of a file of settings.

    Raises:
        InputError: It cannot be read, is too large for a text that somebody wrote, or is no UTF-8.
    """
    data = read_bytes(Path(path), most_bytes=MOST_BYTES, way_out="name another file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(
            "is no text in UTF-8", place=str(path), way_out="save it as UTF-8"
        ) from None


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Args:
        text: The text.
        name: What to call it in errors.

    Raises:
        UsageError: It is no TOML; names the line.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        message, _, where = str(error).partition(" (at ")
        found = re.match(r"line (\d+)", where)
        # What is missing at the end of the file is missing on its last line.
        line = int(found.group(1)) if found else max(1, len(text.splitlines()))
        cause, place = f"{message[:1].lower()}{message[1:]}", f"{name}, line {line}"
    except RecursionError:
        cause, place = "its lists or tables nest too deeply", name
    except ValueError:
        # Python reads no whole number of more than 4,300 digits.
        cause, place = "it has a number of too many digits", name
    raise UsageError(
        f"is no TOML: {cause}", place=place, way_out="see toml.io for how it is written"
    )


class TomlLines:
    """In which line of a TOML text a value stands: tables, lists of tables, and items of lists.

    The text is gone through once, however many values are asked for.

    >>> toml = chr(10).join(["[[songs]]", "source = 'a'", "", "[[songs]]", "recipes = [", "'x',",
    ...                      "'y']"])
    >>> lines = TomlLines(toml)
    >>> lines.at(("songs", 1, "recipes", 1)), lines.at(("songs", 1, "source"))
    (7, 4)
    """

    def __init__(self, text: str) -> None:
        self._lines = text.splitlines()
        self._found = dict(_keys(self._lines))

    def at(self, path: Sequence[str | int]) -> int:
        """Return the line, from 1, of the value at a path of keys and places in lists.

        Where the value itself is not there (a missing key), the line of what holds it is returned.
        """
        wanted = tuple(path)
        while wanted:
            if wanted in self._found:
                return self._found[wanted]
            head, last = wanted[:-1], wanted[-1]
            if isinstance(last, int) and head in self._found:
                return _item_line(self._lines, self._found[head], last)
            wanted = head
        return 1


def _keys(lines: Sequence[str]) -> Iterator[tuple[Keys, int]]:
    table: Keys = ()
    counts: dict[Keys, int] = {}
    depth = 0
    for number, line in enumerate(lines, 1):
        if depth:
            depth += _opened(line)
            continue
        header = _HEADER.match(line)
        if header:
            table = _table(header.group(2), counts, is_list=header.group(1) == "[[")
            yield table, number
            continue
        key = _KEY.match(line)
        if key:
            yield (*table, *_parts(key.group(1))), number
            depth = _opened(key.group(2))


def _table(text: str, counts: dict[Keys, int], *, is_list: bool) -> Keys:
    """Return the path of a table; each list of tables on the way stands for its last one."""
    path: Keys = ()
    parts = _parts(text)
    for index, part in enumerate(parts):
        path = (*path, part)
        if is_list and index == len(parts) - 1:
            counts[path] = counts.get(path, -1) + 1
        if path in counts:
            path = (*path, counts[path])
    return path


def _parts(text: str) -> list[str]:
    return [part.strip("\"'") for part in _PART.findall(text)]


def _opened(line: str) -> int:
    """Return how many brackets of lists a line leaves open, or closes if less than 0."""
    bare = _TEXT.sub("", line).partition("#")[0]
    return bare.count("[") - bare.count("]")


def _item_line(lines: list[str], first: int, wanted: int) -> int:
    seen = depth = 0
    for number in range(first, len(lines) + 1):
        line = lines[number - 1]
        value = line.partition("=")[2] if number == first else line
        for _ in _TEXT.finditer(value):
            if seen == wanted:
                return number
            seen += 1
        depth += _opened(value)
        if depth <= 0:
            break
    return first
