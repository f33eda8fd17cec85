"""Reads one ``note`` element into a draft; the measure reader makes events of drafts."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache

from lxml import etree

from variants.errors import InputError
from variants.limits import MOST_STAVES
from variants.music import Pitch, pitch
from variants.music.duration import QUARTERS_OF_TYPE
from variants.music.pitch import LETTERS
from variants.musicxml.carrying import (
    attributes_text,
    carried_text,
    kept_attributes,
    name_of,
)
from variants.musicxml.draft import Draft
from variants.musicxml.grammar import is_allowed, is_form
from variants.musicxml.numerals import number, shown, whole
from variants.musicxml.xml_text import xml_text
from variants.score import Extra, Lyric, Mark

# Attributes of a note that change the music or hide the note; the rest is page layout.
_KEPT_ATTRIBUTES = frozenset(
    {
        "print-object",
        "print-spacing",
        "print-dot",
        "print-leger",
        "print-lyric",
        "color",
        "dynamics",
        "end-dynamics",
        "pizzicato",
        "time-only",
    }
)
# Attributes that count divisions of the source: shifts of a performance, which a variant has not.
_TIMED_ATTRIBUTES = ("attack", "release")
_GROUP_RANK = {"footnote": -2, "level": -1, "ornaments": 1, "technical": 2, "articulations": 3}
_GROUPS = frozenset({"ornaments", "technical", "articulations"})
_EDITORIAL = frozenset({"footnote", "level"})
# Names that some programs write and that the standard does not have: the alteration says enough.
REPAIRED_ACCIDENTALS = frozenset({"double-flat", "none"})
# Marks of a note itself rather than of the moment: they stay with their note in a chord.
NOTE_FAMILIES = frozenset({"technical", "slide", "glissando", "accidental-mark", "tied"})
# Children of ``note`` that are only carried.
CARRIED = frozenset(
    {"instrument", "footnote", "level", "notehead", "notehead-text", "play", "listen"}
)
_MANY = frozenset({"instrument", "beam"})
_PLAIN_ACCIDENTALS = {
    "sharp": 1,
    "flat": -1,
    "natural": 0,
    "double-sharp": 2,
    "flat-flat": -2,
    "sharp-sharp": 2,
}
_STEMS = frozenset({"up", "down", "none", "double"})
_BEAMS = frozenset({"begin", "continue", "end", "forward hook", "backward hook"})
_DIVISIONS = frozenset({"make-time"})
_LYRIC_READ = frozenset({"number", "name"})
# The standard has so many levels of beams.
_MOST_BEAMS = 8
# Strings, frets and staves: looked up, because every note of a tab has all three.
_SMALL = {str(number): number for number in range(100)}
_COURTESY = ("cautionary", "editorial", "parentheses", "bracket")


def read_note(element: etree._Element) -> Draft:
    """Return the draft of a ``note`` element.

    Raises:
        InputError: A child holds what the standard does not allow and nothing can be made of.
    """
    draft = Draft()
    for child in element:
        tag = child.tag
        # What nearly every note has is read here, the rest by a function each: calls are dear.
        if tag == "pitch":
            draft.pitch = _pitch(child)
        elif tag == "duration":
            draft.duration = child.text or ""
        elif tag == "voice":
            draft.voice = (child.text or "").strip()
        elif tag == "type":
            name = (child.text or "").strip()
            draft.type = name if name in QUARTERS_OF_TYPE else ""
            if child.get("size") is not None:
                _size(draft, child)
        elif tag == "chord":
            draft.chord = True
        else:
            handler = _CHILDREN.get(tag)
            if handler is None:
                _carry(draft, child)
            else:
                handler(draft, child)
    if bool(draft.string) is not (draft.fret >= 0):
        _keep_half_a_place(draft)
    if element.attrib:
        _attributes(draft, element)
    return draft


def _attributes(draft: Draft, element: etree._Element) -> None:
    kept = []
    for key, value in element.items():
        if key in _KEPT_ATTRIBUTES:
            if is_allowed("note", str(key), str(value)):
                kept.append(Extra(f"@{key}", str(value)))
            else:
                draft.log(f"a note has the {key} {shown(str(value))}; it was left out")
        elif key in _TIMED_ATTRIBUTES:
            draft.log(
                f"the {key} of a note ({shown(str(value))}) was left out: it is of a recording"
            )
    if kept:
        draft.extras = (*draft.extras, *sorted(kept, key=lambda one: one.name))


def _size(draft: Draft, child: etree._Element) -> None:
    size = str(child.get("size"))
    if is_allowed("note-type", "size", size):
        draft.extras = (*draft.extras, Extra("type", size))
    else:
        draft.log(f"a note has the size {shown(size)}; it was left out")


def _keep_half_a_place(draft: Draft) -> None:
    # A circled string on a notation staff, a fret alone: no place, but a sign to keep.
    name, number = ("string", draft.string) if draft.string else ("fret", draft.fret)
    sign = Mark("technical", name, "", "", f"<{name}>{number}</{name}>")
    draft.marks = tuple(sorted((*draft.marks, sign), key=_rank))


def _carry(draft: Draft, child: etree._Element) -> None:
    name = str(child.tag)
    if name not in CARRIED:
        draft.log(f"<{name_of(child)}> is no child of a note in the standard; it was left out")
    else:
        _keep(draft, name, child)


def _keep(draft: Draft, name: str, child: etree._Element) -> None:
    if name not in _MANY and any(extra.name == name for extra in draft.extras):
        draft.log(f"a second <{name}> of a note was left out")
        return
    text = carried_text(child, "note", draft.log)
    if text:
        draft.extras = (*draft.extras, Extra(name, text))


def _cue(draft: Draft, _: etree._Element) -> None:
    draft.cue = True


def _grace(draft: Draft, child: etree._Element) -> None:
    draft.grace = tuple(kept_attributes(child, "grace", _DIVISIONS, draft.log))
    if child.get("make-time"):
        draft.log("the make-time of a grace note was left out: it is of a recording")


def _rest(draft: Draft, child: etree._Element) -> None:
    draft.rest = True
    draft.measure_rest = child.get("measure") == "yes"
    if len(child):
        _keep(draft, "rest", child)


def _unpitched(draft: Draft, child: etree._Element) -> None:
    _keep(draft, "unpitched", child)


def _pitch(element: etree._Element) -> Pitch:
    letter = octave = alter = None
    for part in element:
        tag = part.tag
        if tag == "step":
            letter = part.text
        elif tag == "octave":
            octave = part.text
        elif tag == "alter":
            alter = part.text
    return _pitch_of(letter, alter, octave)


@lru_cache(maxsize=4096)
def _pitch_of(letter: str | None, alter: str | None, octave: str | None) -> Pitch:
    signs = number(alter, "<alter>") if alter and alter.strip() else Fraction(0)
    name = (letter or "").strip().upper()
    if name not in LETTERS or len(name) != 1:
        raise InputError(f"a pitch has the step {shown(letter)}", way_out="use A to G")
    height = whole(octave, "<octave>", least=0, most=9)
    if abs(signs) > 4:
        raise InputError(f"<alter> is {shown(alter)}", way_out="use -3 to 3")
    return pitch(name, int(signs) if signs.denominator == 1 else signs, height)


def _tie(draft: Draft, child: etree._Element) -> None:
    kind = child.get("type")
    if kind == "start":
        draft.tie_start = True
    elif kind == "stop":
        draft.tie_stop = True


def _dot(draft: Draft, _: etree._Element) -> None:
    draft.dots += 1


def _accidental(draft: Draft, child: etree._Element) -> None:
    how = "shown"
    for name in _COURTESY:
        if child.get(name) == "yes":
            how = name
            break
    draft.accidental = how
    if len(child.attrib) > (how != "shown"):
        looks = attributes_text(kept_attributes(child, "accidental", frozenset({how}), draft.log))
        if looks:
            draft.extras = (*draft.extras, Extra("accidental-looks", looks))
    glyph = (child.text or "").strip()
    if glyph in REPAIRED_ACCIDENTALS:
        draft.log(f"the accidental {glyph!r} is not in the standard; that of the pitch was taken")
        return
    if glyph and not is_form("accidental-value", glyph):
        draft.log(f"the accidental {shown(glyph)} is not in the standard; it was left out")
    elif glyph not in _PLAIN_ACCIDENTALS and glyph:
        draft.extras = (*draft.extras, Extra("accidental", glyph))
    elif draft.pitch is not None and _PLAIN_ACCIDENTALS.get(glyph) != draft.pitch.alter and glyph:
        draft.log(f"a {glyph} is printed at {draft.pitch}; the accidental of the pitch was taken")


def _time_modification(draft: Draft, child: etree._Element) -> None:
    for part in child:
        tag = part.tag
        if tag == "actual-notes":
            draft.actual = whole(part.text, "<actual-notes>", least=1)
        elif tag == "normal-notes":
            draft.normal = whole(part.text, "<normal-notes>", least=1)
        elif tag == "normal-type":
            name = (part.text or "").strip()
            draft.normal_type = name if name in QUARTERS_OF_TYPE else ""
        elif tag == "normal-dot":
            draft.normal_dots += 1


def _stem(draft: Draft, child: etree._Element) -> None:
    value = (child.text or "").strip()
    if value in _STEMS:
        draft.stem = value
    else:
        draft.log(f"a stem is {shown(value)}; it was left out")


def _staff(draft: Draft, child: etree._Element) -> None:
    known = _SMALL.get(child.text or "", MOST_STAVES + 1)
    if known > MOST_STAVES:
        known = whole(child.text, "<staff>", least=0, most=MOST_STAVES)
    draft.staff = known


def _beam(draft: Draft, child: etree._Element) -> None:
    value = (child.text or "").strip()
    if value not in _BEAMS:
        draft.log(f"a beam is {shown(value)}; it was left out")
        return
    number = child.get("number", "1")
    if number == str(len(draft.beams) + 1) and not (child.get("fan") or child.get("repeater")):
        draft.beams = (*draft.beams, value)
    elif len(draft.beams) + sum(e.name == "beam" for e in draft.extras) < _MOST_BEAMS:
        _keep(draft, "beam", child)


def _notations(draft: Draft, child: etree._Element) -> None:
    marks: list[Mark] = []
    for mark in child:
        family = str(mark.tag)
        if family == "technical":
            _technical(draft, mark, marks)
        elif family in _GROUPS:
            for one in mark:
                if one.tag == "accidental-mark" and not _has_ornament((*draft.marks, *marks)):
                    draft.log("an accidental stood before its ornament; it was left out")
                else:
                    _mark(draft, family, one, marks)
        elif family in _EDITORIAL and any(m.family == family for m in (*draft.marks, *marks)):
            draft.log(f"a second <{family}> of a note's notations was left out")
        else:
            _mark(draft, "notations", mark, marks)
    if len(marks) > 1:
        marks.sort(key=_rank)
    if draft.marks:
        marks = sorted((*draft.marks, *marks), key=_rank)
    draft.marks = tuple(marks)


def _has_ornament(marks: tuple[Mark, ...]) -> bool:
    return any(mark.family == "ornaments" for mark in marks)


def _rank(mark: Mark) -> int:
    # The writer puts the groups last, in this order; reading keeps to it, so that what is read
    # and what is read again after writing are equal.
    return _GROUP_RANK.get(mark.family, 0)


def _technical(draft: Draft, group: etree._Element, marks: list[Mark]) -> None:
    for child in group:
        tag, text = child.tag, (child.text or "").strip()
        if tag == "string" and text in _SMALL and not draft.string:
            draft.string = _SMALL[text]
        elif tag == "fret" and text in _SMALL and draft.fret < 0:
            draft.fret = _SMALL[text]
        elif tag == "fingering" and text and not draft.finger and not _is_second(child):
            draft.finger = text
        elif tag == "pluck" and text and not draft.pluck:
            draft.pluck = text
        else:
            _mark(draft, "technical", child, marks)


def _is_second(fingering: etree._Element) -> bool:
    return fingering.get("alternate") == "yes" or fingering.get("substitution") == "yes"


def _mark(draft: Draft, parent: str, child: etree._Element, marks: list[Mark]) -> None:
    text = carried_text(child, parent, draft.log)
    if text:
        name = str(child.tag)
        family = name if parent == "notations" else parent
        marks.append(Mark(family, name, child.get("type", ""), child.get("number", ""), text))


def _lyric(draft: Draft, child: etree._Element) -> None:
    if not carried_text(child, "note", draft.log):
        return
    syllabic, words, pieces = "", "", []
    for part in child:
        tag = part.tag
        if tag == "text" or tag == "elision":  # noqa: PLR1714 - quicker than a look-up
            words += part.text or ""
        elif tag == "syllabic" and not syllabic:
            syllabic = (part.text or "").strip()
        pieces.append(xml_text(part))
    looks = ""
    if len(child.attrib) > 1:
        looks = attributes_text(kept_attributes(child, "lyric", _LYRIC_READ, draft.log))
    lyric = Lyric(
        child.get("number", ""), syllabic, words, "".join(pieces), child.get("name", ""), looks
    )
    draft.lyrics = (*draft.lyrics, lyric)


_CHILDREN: dict[object, Callable[[Draft, etree._Element], None]] = {
    "cue": _cue,
    "grace": _grace,
    "rest": _rest,
    "unpitched": _unpitched,
    "tie": _tie,
    "dot": _dot,
    "accidental": _accidental,
    "time-modification": _time_modification,
    "stem": _stem,
    "staff": _staff,
    "beam": _beam,
    "notations": _notations,
    "lyric": _lyric,
}
