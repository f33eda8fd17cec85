"""In which line of a TOML file a value stands; the standard reader does not tell."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

_HEADER = re.compile(r"\s*\[+\s*([^\]#]+?)\s*\]+\s*(?:#.*)?$")
_KEY = re.compile(r"""\s*((?:[A-Za-z0-9_-]+|"[^"]*"|'[^']*')(?:\s*\.\s*[A-Za-z0-9_-]+)*)\s*=""")
_PART = re.compile(r"""[A-Za-z0-9_-]+|"[^"]*"|'[^']*'""")


def line_of(text: str, path: Sequence[str | int]) -> int:
    """Return the line, from 1, of the value at a path of keys and list places.

    Where the value itself is not there (a missing key), its table's line is returned.

    >>> lines = ("[variants.a]", "steps = [", "  'slow',", "  'x',", "]")
    >>> line_of(chr(10).join(lines), ("variants", "a", "steps", 1))
    4
    """
    keys = tuple(str(one) for one in path if isinstance(one, str))
    found = dict(_keys(text))
    while keys and keys not in found:
        keys = keys[:-1]
    line = found.get(keys, 1)
    places = [one for one in path if isinstance(one, int)]
    if places and len(keys) == len([one for one in path if isinstance(one, str)]):
        return _item_line(text.splitlines(), line, places[0])
    return line


def _keys(text: str) -> Iterator[tuple[tuple[str, ...], int]]:
    table: tuple[str, ...] = ()
    for number, line in enumerate(text.splitlines(), 1):
        header = _HEADER.match(line)
        if header:
            table = _parts(header.group(1))
            yield table, number
            continue
        key = _KEY.match(line)
        if key:
            yield (*table, *_parts(key.group(1))), number


def _parts(text: str) -> tuple[str, ...]:
    return tuple(part.strip("\"'") for part in _PART.findall(text))


def _item_line(lines: list[str], first: int, wanted: int) -> int:
    """Return the line of an item of the list that begins in a line."""
    seen = 0
    for number in range(first, len(lines) + 1):
        line = lines[number - 1]
        if number == first:
            line = line.partition("=")[2]
        for _ in re.finditer(r"\"(?:\\.|[^\"\\])*\"|'[^']*'", line):
            if seen == wanted:
                return number
            seen += 1
        if "]" in re.sub(r"\"(?:\\.|[^\"\\])*\"|'[^']*'", "", line):
            break
    return first
