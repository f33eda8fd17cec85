"""Pairs the parts of a file with their declarations, and checks that they fit together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from itertools import count

from lxml import etree

from variants.errors import InputError
from variants.limits import FileLimits
from variants.musicxml.grammar import is_form
from variants.musicxml.numerals import shown


@dataclass(frozen=True, slots=True)
class Listed:
    """One part of a file.

    Args:
        id: Its id, mended where the file's own is none.
        element: The ``part`` element.
        stated: Its ``score-part``; an empty one where the part list lacks it.
        measures: Its ``measure`` elements.
    """

    id: str
    element: etree._Element
    stated: etree._Element
    measures: list[etree._Element]


def list_parts(
    root: etree._Element, limits: FileLimits, log: Callable[[str], None]
) -> list[Listed]:
    """Return the parts of a partwise score in their order.

    Raises:
        InputError: There is no music, two parts share an id, parts differ in their number of
            measures, or there are too many measures.
    """
    elements = root.findall("part")
    stated = root.findall("part-list/score-part")
    names = [element.get("id", "") for element in elements]
    doubled = [name for name, times in Counter(filter(None, names)).items() if times > 1]
    if doubled:
        raise InputError(
            f"two parts have the id {shown(doubled[0])}", way_out="give each part its own id"
        )
    known: dict[str, etree._Element] = {}
    for one in stated:
        known.setdefault(one.get("id", ""), one)
    taken = set(names) | set(known)
    parts = []
    for index, (element, name) in enumerate(zip(elements, names, strict=True)):
        found = known.get(name)
        if found is None and not name and len(stated) == len(elements):
            found = stated[index]
            name = found.get("id", "")  # noqa: PLW2901 - the id that the part should have
        if found is None:
            log(f"the part list does not name part {shown(name)}; its music was read")
            found = etree.Element("score-part")
        parts.append(Listed(_mended(name, taken, log), element, found, element.findall("measure")))
    lost = len({id(one) for one in stated} - {id(part.stated) for part in parts})
    if lost:
        log(f"the part list names {lost} more than there is music for; they were left out")
    _check_measures(parts, limits)
    return parts


def _mended(name: str, taken: set[str], log: Callable[[str], None]) -> str:
    if is_form("xs:ID", name):
        return name
    mended = next(f"P{number}" for number in count(1) if f"P{number}" not in taken)
    taken.add(mended)
    log(f"{shown(name)} is no id for a part; it was changed to {mended}")
    return mended


def _check_measures(parts: list[Listed], limits: FileLimits) -> None:
    counts = [len(part.measures) for part in parts]
    if not any(counts):
        raise InputError("the score has no measures", way_out="export the score again")
    for part, number in zip(parts, counts, strict=True):
        if number != counts[0]:
            raise InputError(
                f"part {part.id} has {_told(number)}, part {parts[0].id} has {_told(counts[0])}",
                way_out="export the score again",
            )
    if sum(counts) > limits.measures:
        raise InputError(
            f"the score has more than {limits.measures} measures",
            way_out="split it, or raise the limit (measures)",
        )


def _told(number: int) -> str:
    return f"{number} measure" if number == 1 else f"{number} measures"
