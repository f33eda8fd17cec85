"""Reads what stands before the music: titles, names, page set-up, declarations of parts."""

from __future__ import annotations

from lxml import etree

from variants.musicxml.carrying import (
    Log,
    attributes_text,
    carried_page,
    carried_text,
    first_of_each,
    kept_attributes,
)
from variants.score import Extra, Score

_IDENTIFICATION_READ = frozenset({"creator", "rights", "source", "encoding"})
_PART_READ = frozenset({"part-name", "part-abbreviation"})
_PART_MANY = frozenset({"part-link", "group", "score-instrument", "player", "midi-device",
                        "midi-instrument"})  # fmt: skip
_HEAD_MANY = frozenset({"credit", "identification", "work"})


def read_header(root: etree._Element, ticks: int, log: Log) -> Score:
    """Return a score without parts that holds what the file says of itself.

    Args:
        root: The root of a partwise score.
        ticks: Ticks in a quarter.
        log: Told what was left out.
    """
    identification = root.find("identification")
    work = root.find("work")
    carried: list[Extra] = []
    if work is not None:
        pieces = [_named(one, "work", log) for one in work if one.tag != "work-title"]
        carried += [Extra("work", one.xml) for one in first_of_each(pieces, log, many=_NONE)]
    for child in root:
        if child.tag in ("movement-number", "defaults", "credit"):
            text = carried_page(child, str(child.tag), log)
            carried += [Extra(str(child.tag), text)] if text else []
    creators: list[tuple[str, str]] = []
    rights: list[tuple[str, str]] = []
    source = ""
    for child in () if identification is None else identification:
        text = (child.text or "").strip()
        if child.tag == "creator" and text:
            creators.append((child.get("type", ""), text))
        elif child.tag == "rights" and text:
            rights.append((child.get("type", ""), text))
        elif child.tag == "source":
            source = text
        elif child.tag not in _IDENTIFICATION_READ:
            carried.append(_named(child, "identification", log))
    return Score(
        ticks,
        (),
        line_of(root.findtext("work/work-title")),
        line_of(root.findtext("movement-title")),
        tuple(creators),
        tuple(rights),
        source,
        (*_once(carried, log), *_groups(root, log)),
    )


_NONE: frozenset[str] = frozenset()


def _named(element: etree._Element, parent: str, log: Log) -> Extra:
    return Extra(str(element.tag), carried_text(element, parent, log))


def _once(carried: list[Extra], log: Log) -> list[Extra]:
    """Return what is carried of the identification under that name, and each thing once."""
    known = ("work", "movement-number", "defaults", "credit")
    pieces = first_of_each(
        (one for one in carried if one.xml), log, many=frozenset({*_HEAD_MANY, "relation"})
    )
    return [one if one.name in known else Extra("identification", one.xml) for one in pieces]


def _groups(root: etree._Element, log: Log) -> list[Extra]:
    """Return the part groups, each named by how many parts stand before it."""
    found, before = [], 0
    for child in root.findall("part-list/*"):
        if child.tag == "score-part":
            before += 1
        else:
            text = carried_text(child, "part-list", log)
            found += [Extra(f"group:{before}", text)] if text else []
    return found


def carried_score_part(element: etree._Element, log: Log) -> list[Extra]:
    """Return the further children of a ``score-part`` that may be written back."""
    pieces = [_named(child, "score-part", log) for child in element if child.tag not in _PART_READ]
    for name in sorted(_PART_READ):
        child = element.find(name)
        if child is not None and child.attrib:
            looks = attributes_text(kept_attributes(child, "part-name", _NONE, log))
            pieces.append(Extra(f"@{name}", looks))
    return first_of_each((one for one in pieces if one.xml), log, many=_PART_MANY)


def line_of(text: str | None) -> str:
    """Return a text in one line."""
    return " ".join((text or "").split())
