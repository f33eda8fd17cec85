"""Reads ``attributes`` into what is in force: metre, keys, clefs, strings, transposition."""

from __future__ import annotations

from fractions import Fraction

from lxml import etree

from variants.music import Key, Metre, Pitch, pitch
from variants.proof.page import LETTERS, ClefSign, KeyTable, PageBar, PageStrings, Slip
from variants.proof.scan_note import decimal, whole
from variants.score import Instrument

# Frets of a neck whose number nobody states: the longest in common use.
MOST_FRETS = 24
MOST_BEATS = 1024


class AttributeState:
    """What is in force at the cursor of a part."""

    def __init__(self) -> None:
        # A part without a time signature has no sum to keep.
        self.metre: Metre | None = None
        self.shifts: dict[int, int | Fraction] = {}

    def shift(self, staff: int) -> int | Fraction:
        """Return the semitones from written to sounding of a staff."""
        if not self.shifts:
            return 0
        own = self.shifts.get(staff)
        return self.shifts.get(0, 0) if own is None else own


def read_attributes(
    element: etree._Element, bar: PageBar, cursor: int, state: AttributeState
) -> None:
    """Take an ``attributes`` element over into its measure, its part and the state."""
    part, moment = bar.part, bar.start + cursor
    for child in element:
        tag = child.tag
        if tag == "key":
            bar.keys.append((cursor, whole(child.get("number")) or 0, _read_key(child)))
        elif tag == "clef":
            part.clefs.append(_read_clef(child, moment, bar))
        elif tag == "staff-details":
            part.strings.append(_read_strings(child, moment, bar, cursor))
        elif tag == "staves":
            part.staves.append((moment, whole(child.text) or 1))
        elif tag == "transpose":
            staff = whole(child.get("number")) or 0
            state.shifts[staff] = _read_shift(child)
            part.transposes.append((moment, staff, state.shifts[staff]))
    times = element.findall("time")
    if times:
        state.metre = _read_metre(times[0], bar, cursor, state.metre)


def _read_key(element: etree._Element) -> KeyTable | None:
    fifths = whole(element.findtext("fifths"))
    if fifths is not None:
        if abs(fifths) > 14:
            return None
        key = Key(fifths)
        return tuple(key.altered(letter) for letter in LETTERS)
    table: dict[str, int | Fraction] = {}
    letter = ""
    for child in element:
        if child.tag == "key-step":
            letter = (child.text or "").strip()
        elif child.tag == "key-alter":
            table[letter] = decimal(child.text) or 0
    return tuple(table.get(one, 0) for one in LETTERS) if table else None


def _read_clef(element: etree._Element, moment: int, bar: PageBar) -> ClefSign:
    return ClefSign(
        moment,
        whole(element.get("number")) or 1,
        (element.findtext("sign") or "").strip(),
        whole(element.findtext("clef-octave-change")) or 0,
        element,
        bar,
    )


def _read_shift(element: etree._Element) -> int | Fraction:
    chromatic = decimal(element.findtext("chromatic")) or Fraction(0)
    octaves = whole(element.findtext("octave-change")) or 0
    total = chromatic + 12 * octaves
    return int(total) if total.denominator == 1 else total


def _read_metre(
    element: etree._Element, bar: PageBar, cursor: int, before: Metre | None
) -> Metre | None:
    if element.find("senza-misura") is not None:
        return None
    beats = tuple((one.text or "").replace(" ", "") for one in element.findall("beats"))
    kinds = [(one.text or "").strip() for one in element.findall("beat-type")]
    numbers = [number for text in beats for number in text.split("+")] + kinds
    if not beats or len(beats) != len(kinds) or not all(map(_is_count, numbers)):
        bar.slips.append(
            Slip("metre", f"the time signature {'+'.join(beats)}/{'+'.join(kinds)} is none",
                 cursor, element)
        )  # fmt: skip
        return before
    return Metre(beats, tuple(int(kind) for kind in kinds))


def _is_count(text: str) -> bool:
    # Signs that only look like digits, a superscript two, are no numbers.
    return text.isascii() and text.isdigit() and len(text) <= 4 and 0 < int(text) <= MOST_BEATS


def _read_strings(element: etree._Element, moment: int, bar: PageBar, cursor: int) -> PageStrings:
    staff = whole(element.get("number")) or 1
    lines = whole(element.findtext("staff-lines")) or 0
    tunings = element.findall("staff-tuning")
    table: dict[int, Pitch] = {}
    for tuning in tunings:
        line, note = whole(tuning.get("line")), _read_open_string(tuning)
        if line is None or note is None:
            bar.slips.append(Slip("string-count", "a string is tuned to no note", cursor, tuning))
        elif line in table:
            bar.slips.append(Slip("string-count", f"line {line} is tuned twice", cursor, tuning))
        else:
            table[line] = note
    count = lines or max(table, default=0)
    instrument = None
    if table and set(table) == set(range(1, count + 1)):
        capo = whole(element.findtext("capo")) or 0
        # Line 1 is the lowest line and bears the highest-numbered string.
        strings = tuple(table[line] for line in range(count, 0, -1))
        instrument = Instrument(strings, capo=capo, frets=MOST_FRETS)
    elif table:
        bar.slips.append(
            Slip("string-count", f"{len(table)} strings tuned on {count} lines", cursor, element,
                 f"{count} tunings, line 1 to {count}")
        )  # fmt: skip
    return PageStrings(moment, staff, instrument, lines, element)


def _read_open_string(tuning: etree._Element) -> Pitch | None:
    letter = (tuning.findtext("tuning-step") or "").strip().upper()
    octave = whole(tuning.findtext("tuning-octave"))
    alter = whole(tuning.findtext("tuning-alter") or "0")
    if letter not in {"A", "B", "C", "D", "E", "F", "G"} or octave is None or alter is None:
        return None
    return pitch(letter, alter, octave)
