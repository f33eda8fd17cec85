"""Reads what stands beside the notes: directions and barlines."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from lxml import etree

from variants.limits import MOST_STAVES
from variants.music import NoteValue
from variants.musicxml.carrying import (
    Log,
    attributes_text,
    carried_text,
    first_of_each,
    kept_attributes,
)
from variants.musicxml.grammar import is_form
from variants.musicxml.numerals import decimal, shown, whole
from variants.musicxml.repair import repair_direction
from variants.score import Barline, Direction, Extra

# Directions that we write have ids "neckwise.MARK.PART.NUMBER", so that they can be taken off
# again.
OUR_LABELS = "neckwise."
_BARLINE_READ = frozenset({"bar-style", "repeat", "ending"})
_DIRECTION_READ = frozenset({"placement", "id"})
_NO_LOOKS = frozenset({"location", "divisions"})
_LOCATIONS = frozenset({"left", "right", "middle"})
_NONE: frozenset[str] = frozenset()
# Ticks of an offset, which the source counts in divisions.
Counted = Callable[[str | None], int]


def read_direction(
    element: etree._Element, onset: int, log: Log, counted: Counted
) -> Direction | None:
    """Return a ``direction``, or a ``sound`` that stands alone in a measure.

    Nothing is returned for one of which nothing can be kept.

    Args:
        element: The element.
        onset: Its moment in the measure, in ticks.
        log: Told what was left out.
        counted: Turns the divisions of an offset into ticks.
    """
    repair_direction(element, log)
    for offset in element.iterfind(".//sound/offset" if element.tag != "sound" else "offset"):
        offset.text = str(counted(offset.text))
    if element.tag == "sound":
        text = carried_text(element, "measure", log)
        return Direction(onset, "", text, "", _tempo(element, element)) if text else None
    return _direction(element, onset, log)


def _direction(element: etree._Element, onset: int, log: Log) -> Direction | None:
    types, sounds = [], {}
    for child in element:
        tag = str(child.tag)
        if tag == "direction-type":
            text = carried_text(child, "direction", log)
            types += [text] if text else []
            if not text:
                element.remove(child)
        elif tag in ("sound", "listening"):
            text = "" if tag in sounds else carried_text(child, "direction", log)
            if text:
                sounds[tag] = text
        elif tag not in ("offset", "footnote", "level", "voice", "staff"):
            log(f"<{tag[:24]}> is no child of a direction in the standard; it was left out")
    if not types and not sounds:
        return None
    words = " ".join(
        (word.text or "").strip()
        for kind in element.findall("direction-type")
        for word in kind.iter("words", "rehearsal")
    )
    return Direction(
        onset,
        "".join(types),
        "".join(sounds[tag] for tag in ("sound", "listening") if tag in sounds),
        words.strip(),
        _tempo(element, element.find("sound")),
        placement_of(element),
        whole(element.findtext("staff") or "0", "<staff>", least=0, most=MOST_STAVES),
        (element.findtext("voice") or "").strip(),
        _origin(element.get("id", "")),
        _direction_extras(element, log),
    )


def _direction_extras(element: etree._Element, log: Log) -> tuple[Extra, ...]:
    found = editorial(element, "direction", log)
    if len(element.attrib) > element.attrib.has_key("placement"):
        looks = attributes_text(kept_attributes(element, "direction", _DIRECTION_READ, log))
        if looks:
            found.append(Extra("@direction", looks))
    return tuple(found)


def editorial(element: etree._Element, parent: str, log: Log) -> list[Extra]:
    """Return the ``footnote`` and the ``level`` of an element, in the standard's order."""
    found = []
    for name in ("footnote", "level"):
        child = element.find(name)
        text = "" if child is None else carried_text(child, parent, log)
        if text:
            found.append(Extra(name, text))
    return found


def placement_of(element: etree._Element) -> str:
    """Return where an element says that it stands: ``above``, ``below``, or empty."""
    placement = element.get("placement", "")
    return placement if placement in ("above", "below") else ""


def _origin(label: str) -> str:
    """Return the mark that a direction of ours is; see `OUR_LABELS`."""
    return label.split(".")[1] if label.startswith(OUR_LABELS) and label.count(".") > 1 else ""


def _tempo(element: etree._Element, sound: etree._Element | None) -> Fraction | None:
    stated = sound.get("tempo") if sound is not None else None
    if stated:
        return _positive(stated)
    metronome = element.find(".//metronome")
    if metronome is None:
        return None
    unit = NoteValue(metronome.findtext("beat-unit") or "", len(metronome.findall("beat-unit-dot")))
    rate = _positive((metronome.findtext("per-minute") or "").strip())
    return rate * unit.quarters if rate and unit.quarters else None


def _positive(text: str) -> Fraction | None:
    # "c. 120" and "120-132" are allowed in print; they set no exact tempo.
    value = decimal(text)
    return value if value is not None and value > 0 else None


# -- barlines --------------------------------------------------------------------------------


def read_barline(element: etree._Element, onset: int, log: Log) -> Barline:
    """Return a barline.

    Args:
        element: The element.
        onset: Its moment in the measure, in ticks.
        log: Told what was left out.
    """
    location = element.get("location", "right")
    if location not in _LOCATIONS:
        log(f"a barline stands {shown(location)}; it was put on the right")
        location = "right"
    style = (element.findtext("bar-style") or "").strip()
    if style and not is_form("bar-style", style):
        log(f"a barline has the style {shown(style)}; it was left out")
        style = ""
    direction, times, looks = _repeat(element.find("repeat"), log)
    ending, more = _ending(element.find("ending"), log)
    carried = []
    for child in element:
        if child.tag not in _BARLINE_READ:
            text = carried_text(child, "barline", log)
            carried += [Extra(str(child.tag), text)] if text else []
    carried = sorted(first_of_each(carried, log, many=frozenset({"fermata"})), key=_barline_rank)
    looks += more
    drawn = element.find("bar-style")
    colour = () if drawn is None else kept_attributes(drawn, "bar-style-color", _NONE, log)
    looks += [Extra("@bar-style", attributes_text(colour))] if colour else []
    own = kept_attributes(element, "barline", _NO_LOOKS, log)
    looks += [Extra("@barline", attributes_text(own))] if own else []
    return Barline(
        location,
        onset if location == "middle" else 0,
        style,
        direction,
        times,
        ending,
        (*carried, *looks),
    )


def _barline_rank(extra: Extra) -> int:
    order = ("footnote", "level", "wavy-line", "segno", "coda", "fermata")
    return order.index(extra.name) if extra.name in order else len(order)


def _repeat(element: etree._Element | None, log: Log) -> tuple[str, int, list[Extra]]:
    if element is None:
        return "", 0, []
    direction = element.get("direction", "")
    if direction not in ("forward", "backward"):
        log(f"a repeat goes {shown(direction)}; it was left out")
        return "", 0, []
    times = whole(element.get("times") or "0", "the times of <repeat>", least=0)
    looks = kept_attributes(element, "repeat", frozenset({"direction", "times"}), log)
    return direction, times, [Extra("@repeat", attributes_text(looks))] if looks else []


def _ending(
    element: etree._Element | None, log: Log
) -> tuple[tuple[str, str, str] | None, list[Extra]]:
    if element is None:
        return None, []
    number, kind = element.get("number", ""), element.get("type", "")
    if not is_form("ending-number", number) or not is_form("start-stop-discontinue", kind):
        log(f"an ending has the number {shown(number)} and the type {shown(kind)}; it was left out")
        return None, []
    looks = kept_attributes(element, "ending", frozenset({"number", "type"}), log)
    extras = [Extra("@ending", attributes_text(looks))] if looks else []
    return (number, kind, element.text or ""), extras
