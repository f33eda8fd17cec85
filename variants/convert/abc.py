"""The tunes of an ABC file: how many there are, which one is meant, what music21 drops of it.

The rules are those of the ABC standard 2.1 (abcnotation.com): a tune begins with its field ``X:``
and ends with an empty line; fields before the first tune hold for all of them.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from variants.errors import InputError

_START = re.compile(r"^X:", re.MULTILINE)
_NUMBER = re.compile(r"^X:\s*(\d+)", re.MULTILINE)
_TITLE = re.compile(r"^T:\s*(.+)$", re.MULTILINE)
_KEY = re.compile(r"^K:.*$", re.MULTILINE)
_EMPTY_LINE = re.compile(r"\n[ \t]*\r?\n")
# A field that holds for all tunes; stylesheet and comment lines of the head do not count.
_SHARED = re.compile(r"^[A-WYZ]:.*$", re.MULTILINE)
# What music21 does not take over from the body of a tune, and what it is.
_DROPPED = (
    (re.compile(r"^[wW]:", re.MULTILINE), "line of words", "lines of words"),
    (re.compile(r"![^!\n]+!|\+[a-z.()]+\+"), "decoration", "decorations"),
    (re.compile(r"~(?=[\^_=]*[A-Ga-g])"), "roll", "rolls"),
    (re.compile(r"[HLMOPST](?=[\^_=]*[A-Ga-g])"), "sign before a note", "signs before notes"),
    (re.compile(r'"[\^_<>@][^"]*"'), "annotation", "annotations"),
)
_MOST_NAMED = 3


@dataclass(frozen=True, slots=True)
class AbcTune:
    """One tune of a file.

    Args:
        number: Its reference number, the field ``X:``; its place in the file if it has none.
        title: Its first title.
        text: All of it, with the fields that hold for the whole file.
        rest: Whether more than comments follows the empty line that ends it.
    """

    number: int
    title: str
    text: str
    rest: bool


def tunes_of(text: str) -> list[AbcTune]:
    r"""Return the tunes of a file in their order.

    >>> [tune.title for tune in tunes_of("X:1\nT:One\nK:C\nC\n\nX:2\nT:Two\nK:G\nG\n")]
    ['One', 'Two']
    """
    text = text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
    starts = [found.start() for found in _START.finditer(text)]
    if not starts:
        return [_tune(text, "", 1)] if _KEY.search(text) else []
    shared = "".join(f"{line}\n" for line in _SHARED.findall(text[: starts[0]]))
    ends = [*starts[1:], len(text)]
    return [
        _tune(text[start:end], shared, place)
        for place, (start, end) in enumerate(zip(starts, ends, strict=True), 1)
    ]


def _tune(text: str, shared: str, place: int) -> AbcTune:
    number, title, key = _NUMBER.search(text), _TITLE.search(text), _KEY.search(text)
    rest = ""
    if key is not None:
        end = _EMPTY_LINE.search(text, key.end())
        if end is not None:
            text, rest = text[: end.start() + 1], text[end.end() :]
    first, _, others = text.partition("\n")
    whole = f"{first}\n{shared}{others}" if first.startswith("X:") else f"X:{place}\n{shared}{text}"
    lines = (line.strip() for line in rest.splitlines())
    return AbcTune(
        int(number.group(1)) if number and len(number.group(1)) < 10 else place,
        title.group(1).strip() if title else "",
        whole,
        any(line and not line.startswith("%") for line in lines),
    )


def chosen(tunes: list[AbcTune], number: str, *, name: str) -> AbcTune:
    """Return the tune that is meant.

    Args:
        tunes: The tunes of the file.
        number: What stands behind ``#`` in the name that the user gave; empty for nothing.
        name: The name of the file, for the way out.

    Raises:
        InputError: There are several and none is named, there is none of that number, or two.
    """
    if not tunes:
        raise InputError("there is no tune in it", way_out="a tune begins with X: and has a K:")
    if not number:
        if len(tunes) == 1:
            return tunes[0]
        raise InputError(
            f"holds {len(tunes)} tunes ({_named(tunes)})",
            way_out=f"name one by its number: {name}#{tunes[0].number}",
        )
    found = [tune for tune in tunes if str(tune.number) == number]
    if not found:
        raise InputError(
            f"has no tune {number[:12]!r}; it has {_named(tunes)}",
            way_out=f"name one by its number: {name}#{tunes[0].number}",
        )
    if len(found) > 1:
        raise InputError(
            f"has {len(found)} tunes of the number {number}",
            way_out="give each its own number in its field X:",
        )
    return found[0]


def _named(tunes: list[AbcTune]) -> str:
    told = ", ".join(f"{tune.number} {tune.title[:40]}".strip() for tune in tunes[:_MOST_NAMED])
    left = len(tunes) - _MOST_NAMED
    return f"{told} and {left} more" if left > 0 else told


def dropped(tune: AbcTune) -> list[str]:
    """Return what music21 does not take over from a tune, one line for each kind."""
    key = _KEY.search(tune.text)
    body = tune.text[key.end() :] if key else tune.text
    lines = []
    for pattern, one, many in _DROPPED:
        number = len(pattern.findall(body))
        if number:
            lines.append(f"{number} {one if number == 1 else many} of the ABC could not be read")
    if tune.rest:
        lines.append("what follows the empty line that ends the tune was not read")
    return lines
