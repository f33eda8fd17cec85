"""Reads one ``note`` element into a draft; the measure reader makes events of drafts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from lxml import etree

from variants.errors import InputError
from variants.music import NoteValue, Pitch, pitch
from variants.music.duration import QUARTERS_OF_TYPE
from variants.music.pitch import LETTERS
from variants.musicxml.limits import MOST_STAVES
from variants.musicxml.numerals import number, shown, whole
from variants.musicxml.xml_text import xml_text
from variants.score import Extra, Lyric, Mark, Place

# Attributes of a note that change the music or hide the note; the rest is page layout.
_KEPT_ATTRIBUTES = frozenset(
    {"print-object", "print-spacing", "print-dot", "dynamics", "pizzicato"}
)
_GROUP_RANK = {"ornaments": 1, "technical": 2, "articulations": 3}
_GROUPS = frozenset(_GROUP_RANK)
# Names that some programs write and that the standard does not have: the alteration says enough.
REPAIRED_ACCIDENTALS = frozenset({"double-flat", "none"})
# Marks of a note itself rather than of the moment: they stay with their note in a chord.
NOTE_FAMILIES = frozenset({"technical", "slide", "glissando", "accidental-mark", "tied"})
# Children of ``note`` that are only carried.
CARRIED = frozenset(
    {"instrument", "footnote", "level", "notehead", "notehead-text", "play", "listen"}
)
_PLAIN_ACCIDENTALS = frozenset(
    {"sharp", "flat", "natural", "double-sharp", "flat-flat", "sharp-sharp"}
)
_STEMS = frozenset({"up", "down", "none", "double"})
_BEAMS = frozenset({"begin", "continue", "end", "forward hook", "backward hook"})
# Strings, frets and staves: looked up, because every note of a tab has all three.
_SMALL = {str(number): number for number in range(100)}
_COURTESY = ("cautionary", "editorial", "parentheses", "bracket")


@dataclass(slots=True)
class Draft:
    """One note element as read."""

    chord: bool = False
    rest: bool = False
    measure_rest: bool = False
    cue: bool = False
    pitch: Pitch | None = None
    duration: str | None = None
    tie_start: bool = False
    tie_stop: bool = False
    voice: str = ""
    staff: int = 0
    type: str = ""
    dots: int = 0
    actual: int = 1
    normal: int = 1
    normal_type: str = ""
    normal_dots: int = 0
    accidental: str = ""
    stem: str = ""
    finger: str = ""
    pluck: str = ""
    string: int = 0
    fret: int = -1
    grace: tuple[tuple[str, str], ...] | None = None
    beams: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    lyrics: tuple[Lyric, ...] = ()
    extras: tuple[Extra, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def value(self) -> NoteValue:
        """The printed note value."""
        if self.actual == self.normal == 1 and not self.normal_type:
            return note_value(self.type, self.dots)
        return note_value(
            self.type, self.dots, self.actual, self.normal, self.normal_type, self.normal_dots
        )


note_value = lru_cache(maxsize=1024)(NoteValue)
place = lru_cache(maxsize=1024)(Place)


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
        elif tag == "chord":
            draft.chord = True
        else:
            handler = _CHILDREN.get(tag)
            if handler is None:
                _carry(draft, child)
            else:
                handler(draft, child)
    if draft.string and draft.fret < 0:
        _keep_string(draft)
    kept = [Extra(f"@{key}", str(v)) for key, v in element.items() if key in _KEPT_ATTRIBUTES]
    if kept:
        draft.extras = (*draft.extras, *sorted(kept, key=lambda one: one.name))
    return draft


def _keep_string(draft: Draft) -> None:
    # A circled string on a notation staff: no place, since it has no fret, but a sign to keep.
    sign = Mark("technical", "string", "", "", f"<string>{draft.string}</string>")
    draft.marks = tuple(sorted((*draft.marks, sign), key=_rank))


def _carry(draft: Draft, child: etree._Element) -> None:
    name = str(child.tag)
    if name in CARRIED:
        draft.extras = (*draft.extras, Extra(name, xml_text(child)))
    else:
        draft.unknown = (*draft.unknown, name)


def _cue(draft: Draft, _: etree._Element) -> None:
    draft.cue = True


def _grace(draft: Draft, child: etree._Element) -> None:
    draft.grace = tuple(sorted((str(k), str(v)) for k, v in child.attrib.items()))


def _rest(draft: Draft, child: etree._Element) -> None:
    draft.rest = True
    draft.measure_rest = child.get("measure") == "yes"
    if len(child):
        draft.extras = (*draft.extras, Extra("rest", xml_text(child)))


def _unpitched(draft: Draft, child: etree._Element) -> None:
    draft.extras = (*draft.extras, Extra("unpitched", xml_text(child)))


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
    shown = "shown"
    for name in _COURTESY:
        if child.get(name) == "yes":
            shown = name
            break
    draft.accidental = shown
    glyph = (child.text or "").strip()
    if glyph in REPAIRED_ACCIDENTALS:
        return
    if glyph not in _PLAIN_ACCIDENTALS and glyph:
        draft.extras = (*draft.extras, Extra("accidental", glyph))


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
        draft.unknown = (*draft.unknown, f"stem {value}")


def _staff(draft: Draft, child: etree._Element) -> None:
    known = _SMALL.get(child.text or "", MOST_STAVES + 1)
    if known > MOST_STAVES:
        known = whole(child.text, "<staff>", least=0, most=MOST_STAVES)
    draft.staff = known


def _beam(draft: Draft, child: etree._Element) -> None:
    value = (child.text or "").strip()
    if value not in _BEAMS:
        draft.unknown = (*draft.unknown, f"beam {value}")
        return
    number = child.get("number", "1")
    if number == str(len(draft.beams) + 1) and not (child.get("fan") or child.get("repeater")):
        draft.beams = (*draft.beams, value)
    else:
        draft.extras = (*draft.extras, Extra("beam", xml_text(child)))


def _notations(draft: Draft, child: etree._Element) -> None:
    marks: list[Mark] = []
    for mark in child:
        family = str(mark.tag)
        if family == "technical":
            _technical(draft, mark, marks)
        elif family in _GROUPS:
            marks += [_mark(family, one) for one in mark]
        else:
            marks.append(_mark(family, mark))
    if len(marks) > 1:
        marks.sort(key=_rank)
    draft.marks = (*draft.marks, *marks)


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
        elif tag == "fingering" and text and not draft.finger and not child.get("alternate"):
            draft.finger = text
        elif tag == "pluck" and text and not draft.pluck:
            draft.pluck = text
        else:
            marks.append(_mark("technical", child))


def _mark(family: str, child: etree._Element) -> Mark:
    return Mark(
        family, str(child.tag), child.get("type", ""), child.get("number", ""), xml_text(child)
    )


def _lyric(draft: Draft, child: etree._Element) -> None:
    syllabic, words, pieces = "", "", []
    for part in child:
        tag = part.tag
        if tag == "text" or tag == "elision":  # noqa: PLR1714 - quicker than a look-up
            words += part.text or ""
        elif tag == "syllabic" and not syllabic:
            syllabic = (part.text or "").strip()
        pieces.append(xml_text(part))
    lyric = Lyric(child.get("number", ""), syllabic, words, "".join(pieces), child.get("name", ""))
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
