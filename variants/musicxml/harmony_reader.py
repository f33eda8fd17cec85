"""Reads chord symbols."""

from __future__ import annotations

from copy import deepcopy

from lxml import etree

from variants.errors import InputError
from variants.limits import MOST_STAVES
from variants.music import Interval, Pitch
from variants.musicxml.carrying import (
    Log,
    attributes_text,
    carried_text,
    first_of_each,
    kept_attributes,
)
from variants.musicxml.grammar import is_form
from variants.musicxml.numerals import shown, whole
from variants.musicxml.repair import repair_kind
from variants.musicxml.signs_reader import placement_of
from variants.score import Extra, Harmony

_READ = frozenset({"root", "kind", "bass", "degree", "frame", "offset", "staff"})
# Children of one chord; what follows belongs to the whole symbol.
_CHORD = frozenset({"root", "kind", "inversion", "bass", "degree"})
_DEGREE_CHILDREN = ("degree-value", "degree-alter", "degree-type")
# How a step or a degree is to be printed would be wrong as soon as the chord is moved.
_STALE = frozenset({"text"})
_NONE: frozenset[str] = frozenset()
# Elements whose type in the schema has another name.
_ALTERS = {"root-alter": "harmony-alter", "bass-alter": "harmony-alter"}


def read_harmony(
    element: etree._Element, onset: int, interval: Interval, log: Log
) -> list[Harmony]:
    """Return a chord symbol, moved to sounding pitch by ``interval``.

    A symbol of several chords with roots becomes several symbols at one moment.

    Args:
        element: The ``harmony`` element.
        onset: Its moment in the measure, in ticks.
        interval: From written to sounding.
        log: Told what was left out.
    """
    children = list(element)
    if any(child.tag in ("numeral", "function") for child in children):
        return _carried(element, onset, log)
    starts = [place for place, child in enumerate(children) if child.tag == "root"]
    if len(starts) < 2:
        return [_chord(element, onset, interval, log)] if _has_kind(element, log) else []
    log("a chord symbol of several chords was read as several symbols at one moment")
    ends = [*starts[1:], len(children)]
    found = []
    for start, end in zip(starts, ends, strict=True):
        one = etree.Element("harmony", {str(k): str(v) for k, v in element.items()})
        one.extend(
            deepcopy(child)
            for place, child in enumerate(children)
            if start <= place < end or (child.tag not in _CHORD and child.tag != "frame")
        )
        if start != starts[0]:
            for shared in one.findall("frame"):
                one.remove(shared)
        if _has_kind(one, log):
            found.append(_chord(one, onset, interval, log))
    return found


def _has_kind(element: etree._Element, log: Log) -> bool:
    kinds, roots = element.findall("kind"), element.findall("root")
    if len(kinds) == 1 and (roots or (kinds[0].text or "").strip() in ("none", "other")):
        return True
    log("a chord symbol without a root or a kind was left out")
    return False


def _carried(element: etree._Element, onset: int, log: Log) -> list[Harmony]:
    """Return a symbol of functions or scale steps, which holds in every key."""
    for offset in element.findall("offset"):
        element.remove(offset)
    staff = _staff(element)
    for one in element.findall("staff"):
        element.remove(one)
    placement = placement_of(element)
    element.attrib.pop("placement", "")
    text = carried_text(element, "measure", log)
    if not text:
        return []
    looks = attributes_text(kept_attributes(element, "harmony", _NONE, log))
    inside = text[text.index(">") + 1 :].removesuffix("</harmony>")
    extras = (Extra("@harmony", looks),) if looks else ()
    return [Harmony(onset, None, "", staff=staff, xml=inside, placement=placement, extras=extras)]


def _staff(element: etree._Element) -> int:
    return whole(element.findtext("staff") or "0", "<staff>", least=0, most=MOST_STAVES)


def _chord(element: etree._Element, onset: int, interval: Interval, log: Log) -> Harmony:
    kind, root, bass = element.find("kind"), element.find("root"), element.find("bass")
    name, text = repair_kind(
        ("" if kind is None else kind.text or "").strip(),
        "" if kind is None else kind.get("text", ""),
        log,
    )
    frame = element.find("frame")
    degrees, looks = _degrees(element, log)
    # The standard wants a root beside the kind "none" too, where it means nothing.
    named = root is not None and name != "none"
    return Harmony(
        onset,
        _moved(_name(root, "root"), interval) if named and root is not None else None,
        name,
        text,
        None if bass is None else _moved(_name(bass, "bass"), interval),
        degrees,
        "" if frame is None else carried_text(frame, "harmony", log),
        _staff(element),
        "",
        placement_of(element),
        (*_extras(element, log), *looks),
    )


def _extras(element: etree._Element, log: Log) -> list[Extra]:
    found = []
    for child in element:
        if child.tag not in _READ:
            text = carried_text(child, "harmony", log)
            found += [Extra(str(child.tag), text)] if text else []
    found = first_of_each(found, log, many=_NONE)
    rows = [(element, "harmony", frozenset({"placement"}))]
    for name, but in (("kind", frozenset({"text"})), ("root", _NONE), ("bass", _NONE)):
        one = element.find(name)
        if one is not None:
            rows.append((one, name, but))
            rows += [
                (child, str(child.tag), _STALE)
                for child in one
                if child.tag in (f"{name}-step", f"{name}-alter")
            ]
    kind = element.find("kind")
    if kind is not None and kind.get("text") == "":
        # Printed as nothing, which is not the same as printed as usual.
        rows = [(one, name, _NONE if one is kind else but) for one, name, but in rows]
    if kind is not None and (kind.text or "").strip() == "none":
        # A root that means nothing is not moved, so how it is printed stays right.
        rows = [(one, name, _NONE if but is _STALE else but) for one, name, but in rows]
    for one, name, but in rows:
        if but is _STALE and one.get("text") is not None:
            log(f"the text of a <{name}> ({shown(one.get('text'))}) was left out")
        kind_name = _ALTERS.get(name, name)
        looks = kept_attributes(one, kind_name, but, log) if one.attrib else []
        if looks:
            found.append(Extra(f"@{name}", attributes_text(looks)))
    separator = element.find("bass/bass-separator")
    if separator is not None:
        text = carried_text(separator, "bass", log)
        found += [Extra("bass-separator", text)] if text else []
    return found


def _name(element: etree._Element, what: str) -> tuple[str, int]:
    letter = (element.findtext(f"{what}-step") or "").strip().upper()
    if letter not in {"A", "B", "C", "D", "E", "F", "G"}:
        raise InputError(f"a chord symbol has the {what} {shown(letter)}", way_out="use A to G")
    alter = element.findtext(f"{what}-alter") or "0"
    return letter, whole(alter, f"<{what}-alter>", least=-4, most=4)


def _moved(name: tuple[str, int], interval: Interval) -> tuple[str, int]:
    if not interval.steps and not interval.semitones:
        return name
    moved = Pitch(*name, 4) + interval
    return moved.letter, int(moved.alter)


def _degrees(
    element: etree._Element, log: Log
) -> tuple[tuple[tuple[int, int, str], ...], list[Extra]]:
    found: list[tuple[int, int, str]] = []
    looks: list[Extra] = []
    for degree in element.findall("degree"):
        try:
            value = whole(degree.findtext("degree-value"), "<degree-value>", least=1)
            alter = whole(degree.findtext("degree-alter") or "0", "<degree-alter>")
        except InputError as error:
            log(f"a degree of a chord symbol was left out: {error.cause}")
            continue
        kind = (degree.findtext("degree-type") or "add").strip()
        if not is_form("degree-type-value", kind):
            log(f"a degree of a chord symbol was left out: its type is {shown(kind)}")
            continue
        for one, name in ((degree, "degree"), *((degree.find(n), n) for n in _DEGREE_CHILDREN)):
            pairs = [] if one is None or not one.attrib else kept_attributes(one, name, _NONE, log)
            if pairs:
                looks.append(Extra(f"@{name}.{len(found)}", attributes_text(pairs)))
        found.append((value, alter, kind))
    return tuple(found), looks
