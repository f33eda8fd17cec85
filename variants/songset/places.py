"""In which line of a set file a value stands: tables, lists of tables, and items of lists."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

_HEADER = re.compile(r"\s*(\[\[?)\s*([^\]#]+?)\s*\]\]?\s*(?:#.*)?$")
_NAME = r"""(?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')"""
_KEY = re.compile(rf"\s*({_NAME}(?:\s*\.\s*{_NAME})*)\s*=(.*)")
_PART = re.compile(_NAME)
_TEXT = re.compile(r"\"(?:\\.|[^\"\\])*\"|'[^']*'")

Path = tuple[str | int, ...]


def line_at(text: str, path: Sequence[str | int]) -> int:
    """Return the line, from 1, of the value at a path of keys and places in lists.

    Where the value itself is not there (a missing key), the line of what holds it is returned.

    >>> toml = chr(10).join(["[[songs]]", "source = 'a'", "", "[[songs]]", "recipes = [", "'x',",
    ...                      "'y']"])
    >>> line_at(toml, ("songs", 1, "recipes", 1)), line_at(toml, ("songs", 1, "source"))
    (7, 4)
    """
    found = dict(_keys(text))
    wanted = tuple(path)
    while wanted:
        if wanted in found:
            return found[wanted]
        head, last = wanted[:-1], wanted[-1]
        if isinstance(last, int) and head in found:
            return _item_line(text.splitlines(), found[head], last)
        wanted = head
    return 1


def _keys(text: str) -> Iterator[tuple[Path, int]]:
    table: Path = ()
    counts: dict[Path, int] = {}
    depth = 0
    for number, line in enumerate(text.splitlines(), 1):
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


def _table(text: str, counts: dict[Path, int], *, is_list: bool) -> Path:
    """Return the path of a table; each list of tables on the way stands for its last one."""
    path: Path = ()
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
