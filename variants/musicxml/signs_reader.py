"""Reads what stands beside the notes: directions, chord symbols, barlines."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from lxml import etree

from variants.errors import InputError
from variants.music import Interval, NoteValue, Pitch
from variants.musicxml.limits import MOST_STAVES
from variants.musicxml.numerals import decimal, shown, whole
from variants.musicxml.repair import repair_direction, repair_kind
from variants.musicxml.xml_text import xml_text
from variants.score import Barline, Direction, Extra, Harmony

# Directions that we write have ids "neckwise.MARK.PART.NUMBER", so that they can be taken off
# again.
OUR_LABELS = "neckwise."
_BARLINE_READ = frozenset({"bar-style", "repeat", "ending"})
_HARMONY_READ = frozenset({"root", "kind", "bass", "degree", "frame", "offset", "staff"})


def read_direction(element: etree._Element, onset: int, log: Callable[[str], None]) -> Direction:
    """Return a ``direction``, or a ``sound`` that stands alone in a measure."""
    repair_direction(element, log)
    if element.tag == "sound":
        return Direction(onset, "", xml_text(element), "", _tempo(element, element))
    types = element.findall("direction-type")
    sounds = [*element.findall("sound"), *element.findall("listening")]
    words = " ".join(
        (word.text or "").strip() for kind in types for word in kind.iter("words", "rehearsal")
    )
    return Direction(
        onset,
        "".join(map(xml_text, types)),
        "".join(map(xml_text, sounds)),
        words.strip(),
        _tempo(element, element.find("sound")),
        element.get("placement", ""),
        whole(element.findtext("staff") or "0", "<staff>", least=0, most=MOST_STAVES),
        (element.findtext("voice") or "").strip(),
        _origin(element.get("id", "")),
    )


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


def read_harmony(
    element: etree._Element, onset: int, interval: Interval, log: Callable[[str], None]
) -> Harmony:
    """Return a chord symbol, moved to sounding pitch by ``interval``."""
    staff = whole(element.findtext("staff") or "0", "<staff>", least=0, most=MOST_STAVES)
    placement = element.get("placement", "")
    roots, kinds = element.findall("root"), element.findall("kind")
    frame = element.find("frame")
    simple = len(roots) == len(kinds) == 1 or (not roots and _is_no_chord(kinds))
    others = [child for child in element if child.tag not in _HARMONY_READ]
    if not simple or others:
        children = "".join(
            xml_text(child) for child in element if child.tag not in ("offset", "staff")
        )
        return Harmony(onset, None, "", staff=staff, xml=children, placement=placement)
    kind = kinds[0]
    name, text = repair_kind((kind.text or "").strip(), kind.get("text", ""), log)
    # The standard wants a root beside the kind "none" too, where it means nothing.
    named = bool(roots) and name != "none"
    return Harmony(
        onset,
        _moved(_name(roots[0], "root"), interval) if named else None,
        name,
        text,
        _bass(element, interval),
        _degrees(element, log),
        "" if frame is None else xml_text(frame),
        staff,
        "",
        placement,
    )


def _is_no_chord(kinds: list[etree._Element]) -> bool:
    return len(kinds) == 1 and (kinds[0].text or "").strip() == "none"


def _bass(element: etree._Element, interval: Interval) -> tuple[str, int] | None:
    bass = element.find("bass")
    return None if bass is None else _moved(_name(bass, "bass"), interval)


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
    element: etree._Element, log: Callable[[str], None]
) -> tuple[tuple[int, int, str], ...]:
    found = []
    for degree in element.findall("degree"):
        try:
            value = whole(degree.findtext("degree-value"), "<degree-value>")
            alter = whole(degree.findtext("degree-alter") or "0", "<degree-alter>")
        except InputError as error:
            log(f"a degree of a chord symbol was left out: {error.cause}")
            continue
        found.append((value, alter, (degree.findtext("degree-type") or "add").strip()))
    return tuple(found)


def read_barline(element: etree._Element, onset: int) -> Barline:
    """Return a barline."""
    repeat = element.find("repeat")
    ending = element.find("ending")
    location = element.get("location", "right")
    return Barline(
        location,
        onset if location == "middle" else 0,
        (element.findtext("bar-style") or "").strip(),
        "" if repeat is None else repeat.get("direction", ""),
        0 if repeat is None else whole(repeat.get("times") or "0", "the times of <repeat>"),
        None
        if ending is None
        else (ending.get("number", ""), ending.get("type", ""), ending.text or ""),
        tuple(
            Extra(str(child.tag), xml_text(child))
            for child in element
            if child.tag not in _BARLINE_READ
        ),
    )
