"""Reads one ``note`` element into a `Head`, whatever is wrong with it."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache

from lxml import etree

from variants.music import Pitch, pitch
from variants.musicxml import numerals
from variants.proof.page import Head, Slip, Span

# What is or is not there.
_FLAGS: dict[object, str] = {"chord": "is_chord", "grace": "is_grace", "cue": "is_cue",
                             "unpitched": "is_unpitched"}  # fmt: skip
# Marks that run from note to note, within <notations> and within <technical>.
_SPANS = frozenset({"slur", "tuplet", "glissando", "slide", "hammer-on", "pull-off", "wavy-line"})
_GROUPS = frozenset({"technical", "ornaments", "articulations"})
Slips = list[Slip]
# No number in a score is larger; what is counts as none.
LARGEST = 10**9


def decimal(text: str | None) -> Fraction | None:
    """Return a number, ``None`` for anything else."""
    value = numerals.decimal(text)
    return value if value is not None and -LARGEST <= value <= LARGEST else None


def whole(text: str | None) -> int | None:
    """Return a whole number, ``None`` for anything else (``4.0`` counts as 4)."""
    value = decimal(text)
    return int(value) if value is not None and value.denominator == 1 else None


def read_head(element: etree._Element, slips: Slips) -> tuple[Head, str | None]:
    """Return the head of a ``note`` element and the text of its duration."""
    head = Head()
    head.element = element
    duration: str | None = None
    for child in element:
        tag = child.tag
        if tag == "duration":
            duration = child.text or ""
        elif tag == "voice":
            head.voice = (child.text or "").strip() or "1"
        elif tag == "type":
            head.type = (child.text or "").strip()
        elif tag in _FLAGS:
            setattr(head, _FLAGS[tag], True)
        elif tag == "dot":
            head.dots += 1
        elif tag == "beam":
            beam = (child.get("number", "1"), (child.text or "").strip())
            head.beams = (*head.beams, beam)
        elif tag == "lyric":
            head.lyrics = (*head.lyrics, child)
        elif tag == "instrument":
            head.instrument_id = child.get("id", "")
        elif tag in _CHILDREN:
            _CHILDREN[tag](head, child, slips)
    if element.get("print-object") == "no":
        head.is_hidden = True
    return head, duration


@lru_cache(maxsize=4096)
def _pitch_written(step: str | None, alter: str | None, octave: str | None) -> Pitch | None:
    letter = (step or "").strip().upper()
    signs = decimal(alter) if alter and alter.strip() else Fraction(0)
    number = whole(octave)
    if letter not in {"A", "B", "C", "D", "E", "F", "G"} or signs is None or number is None:
        return None
    return pitch(letter, int(signs) if signs.denominator == 1 else signs, number)


def _read_pitch(head: Head, child: etree._Element, slips: Slips) -> None:
    step = alter = octave = None
    for one in child:
        tag = one.tag
        if tag == "step":
            step = one.text
        elif tag == "octave":
            octave = one.text
        elif tag == "alter":
            alter = one.text
    found = _pitch_written(step, alter, octave)
    if found is None:
        slips.append(Slip("xml-value", f"no pitch is step {step}, alter {alter}, octave {octave}",
                          element=child))  # fmt: skip
    head.pitch = found


def _read_rest(head: Head, child: etree._Element, _: Slips) -> None:
    head.is_rest = True
    head.is_measure_rest = child.get("measure") == "yes"


def _read_tie(head: Head, child: etree._Element, _: Slips) -> None:
    kind = child.get("type")
    if kind == "start":
        head.tie_start = True
    elif kind == "stop":
        head.tie_stop = True


def _read_accidental(head: Head, child: etree._Element, _: Slips) -> None:
    head.sign = (child.text or "").strip()
    names = ("editorial", "parentheses", "bracket")
    head.is_editorial = any(child.get(name) == "yes" for name in names)
    head.is_courtesy = head.is_editorial or child.get("cautionary") == "yes"


def _read_time_modification(head: Head, child: etree._Element, _: Slips) -> None:
    for part in child:
        tag = part.tag
        if tag == "actual-notes":
            head.actual = max(whole(part.text) or 1, 1)
        elif tag == "normal-notes":
            head.normal = max(whole(part.text) or 1, 1)
        elif tag == "normal-type":
            head.normal_type = (part.text or "").strip()
        elif tag == "normal-dot":
            head.normal_dots += 1


def _read_staff(head: Head, child: etree._Element, slips: Slips) -> None:
    number = whole(child.text)
    if number is None:
        slips.append(Slip("xml-value", f"<staff> is {child.text!r}", element=child))
    else:
        head.staff = number


def _read_notations(head: Head, child: etree._Element, slips: Slips) -> None:
    for mark in child:
        tag = mark.tag
        if tag == "tied":
            _read_tied(head, mark)
        elif tag == "accidental-mark":
            # An editor's sign above the note.
            head.is_editorial = True
        elif tag in _SPANS:
            _read_span(head, mark)
        elif tag == "technical":
            _read_technical(head, mark, slips)
        elif tag in _GROUPS:
            for one in mark:
                if one.tag in _SPANS:
                    _read_span(head, one)


def _read_tied(head: Head, mark: etree._Element) -> None:
    kind = mark.get("type")
    if kind == "start":
        head.tied_start = True
    elif kind == "stop":
        head.tied_stop = True
    elif kind == "continue":
        head.tied_start = head.tied_stop = True
    elif kind == "let-ring":
        head.let_ring = True


def _read_span(head: Head, mark: etree._Element) -> None:
    span = Span(str(mark.tag), mark.get("type", ""), mark.get("number", "1"), mark)
    head.spans = (*head.spans, span)


def _read_technical(head: Head, group: etree._Element, slips: Slips) -> None:
    for mark in group:
        tag = mark.tag
        if tag in {"string", "fret"}:
            _read_place(head, mark, slips)
        elif tag == "fingering":
            text = (mark.text or "").strip()
            if text and not head.finger and not mark.get("alternate"):
                head.finger = text
        elif tag == "harmonic":
            head.is_harmonic = True
        elif tag == "bend":
            size = decimal(mark.findtext("bend-alter"))
            head.bend = max(head.bend, abs(float(size or 0)))
        elif tag in _SPANS:
            _read_span(head, mark)


def _read_place(head: Head, mark: etree._Element, slips: Slips) -> None:
    number = whole(mark.text)
    if number is None:
        slips.append(Slip("xml-value", f"<{mark.tag}> is {mark.text!r}", element=mark))
    elif mark.tag == "string":
        if head.string:
            head.extra_places += 1
        else:
            head.string = number if number > 0 else number - 1000
    elif head.fret != -1:
        head.extra_places += 1
    else:
        head.fret = number if number >= 0 else number - 1000


_CHILDREN: dict[object, Callable[[Head, etree._Element, Slips], None]] = {
    "pitch": _read_pitch,
    "rest": _read_rest,
    "tie": _read_tie,
    "accidental": _read_accidental,
    "time-modification": _read_time_modification,
    "staff": _read_staff,
    "notations": _read_notations,
}
