"""Reads ``attributes``: key, time, clefs, staves, tuning, transposition."""

from __future__ import annotations

from dataclasses import replace

from lxml import etree

from variants.errors import InputError
from variants.limits import MOST_BEATS, MOST_STAVES
from variants.music import Interval, Key, Metre, Pitch, pitch
from variants.music.pitch import LETTERS
from variants.musicxml.carrying import (
    Log,
    attributes_text,
    carried_text,
    first_of_each,
    kept_attributes,
)
from variants.musicxml.grammar import is_allowed, is_form
from variants.musicxml.numerals import is_digits, number, shown, whole
from variants.score import (
    Attributes,
    Clef,
    Extra,
    Instrument,
    KeySign,
    Transposition,
)

_READ = frozenset({"divisions", "key", "time", "staves", "clef", "staff-details", "transpose"})
_MANY = frozenset({"for-part", "directive", "measure-style", "time"})
_NUMBER = frozenset({"number"})
_TIME_READ = frozenset({"symbol"})
# What is carried of the staff details that give a tuning, in the standard's order.
_STAFF_LOOKS = ("staff-type", "line-detail", "staff-size")
# No instrument has so many strings, none is transposed so far.
_MOST_LINES = 64
_MOST_SEMITONES = 120


def read_attributes(
    element: etree._Element,
    onset: int,
    intervals: dict[int, Interval],
    log: Log,
    *,
    strung: Instrument | None,
) -> Attributes:  # fmt: skip
    """Return what an ``attributes`` element changes.

    Args:
        element: The element.
        onset: Its moment in the measure, in ticks.
        intervals: Written-to-sounding interval of each staff (0 for all) in force before it.
        log: Told what was left out.
        strung: The instrument in force before it, which what is said of single strings changes.

    Raises:
        InputError: A number in it is none.
    """
    transpositions = tuple(_transposition(one, log) for one in element.findall("transpose"))
    now = dict(intervals)
    now.update({one.staff: interval_of(one) for one in transpositions})
    times = element.findall("time")
    metre = _metre(times[0], log) if times else None
    staves = element.findtext("staves")
    details = element.findall("staff-details")
    told = [_instrument(one, strung) for one in details]
    which = next((place for place, one in enumerate(told) if one), -1)
    tuned, instrument = (details[which], told[which]) if which >= 0 else (None, None)
    if any(one not in (None, instrument) for one in told):
        log("two staves are strung in two ways; only the strings of the first are read")
    clefs = (_clef(clef, log) for clef in element.findall("clef"))
    others = [
        carried_text(one, "attributes", log)
        for one, strings in zip(details, told, strict=True)
        if strings is None
    ]
    return Attributes(
        onset,
        tuple(one for one in (_key(key, now, log) for key in element.findall("key")) if one),
        metre,
        tuple(clef for clef in clefs if clef is not None),
        transpositions,
        whole(staves, "<staves>", least=0, most=MOST_STAVES) if staves is not None else 0,
        instrument,
        tuple(text for text in others if text),
        _carried(element, times, metre, tuned, log),
    )


def _carried(
    element: etree._Element,
    times: list[etree._Element],
    metre: Metre | None,
    tuned: etree._Element | None,
    log: Log,
) -> tuple[Extra, ...]:
    found = []
    for child in [*(one for one in element if one.tag not in _READ), *times[metre is not None :]]:
        text = carried_text(child, "attributes", log)
        found += [Extra(str(child.tag), text)] if text else []
    found = first_of_each(found, log, many=_MANY)
    if metre is not None:
        looks = attributes_text(kept_attributes(times[0], "time", _TIME_READ, log))
        found += [Extra("@time", looks)] if looks else []
        free = times[0].find("senza-misura")
        if free is not None and (free.text or "").strip():
            found.append(Extra("senza-misura", carried_text(free, "time", log)))
    if tuned is not None:
        looks = attributes_text(kept_attributes(tuned, "staff-details", _NUMBER, log))
        found += [Extra("@staff-details", looks)] if looks else []
        for name in _STAFF_LOOKS:
            every = tuned.findall(name)
            # The standard has one staff type and one size; of several the last holds.
            lone = every if name == "line-detail" else every[-1:]
            texts = [carried_text(one, "staff-details", log) for one in lone]
            found += [Extra(name, "".join(texts))] if any(texts) else []
    return tuple(found)


def interval_of(transposition: Transposition) -> Interval:
    """Return the interval from written to sounding.

    Without a diatonic part the usual spelling of the semitones is taken.
    """
    semitones = int(transposition.chromatic)
    if transposition.diatonic is None:
        base = Interval.of_semitones(semitones)
    else:
        base = Interval(transposition.diatonic, semitones)
    octaves = transposition.octave_change
    return Interval(base.steps + 7 * octaves, base.semitones + 12 * octaves)


def _transposition(element: etree._Element, log: Log) -> Transposition:
    diatonic = element.findtext("diatonic")
    semitones = number(element.findtext("chromatic") or "0", "<chromatic>")
    if abs(semitones) > _MOST_SEMITONES:
        raise InputError(f"<chromatic> is {semitones}", way_out="write a number of semitones")
    double = element.find("double")
    return Transposition(
        semitones,
        None
        if diatonic is None
        else whole(diatonic, "<diatonic>", least=-_MOST_SEMITONES, most=_MOST_SEMITONES),
        whole(element.findtext("octave-change") or "0", "<octave-change>", least=-9, most=9),
        whole(element.get("number") or "0", "the number of <transpose>", least=0),
        "" if double is None else carried_text(double, "transpose", log),
    )


def _key(element: etree._Element, intervals: dict[int, Interval], log: Log) -> KeySign | None:
    staff = whole(element.get("number") or "0", "the number of <key>", least=0)
    fifths = element.findtext("fifths")
    if fifths is None:
        text = carried_text(element, "attributes", log)
        return KeySign(None, staff, text) if text else None
    for name in ("cancel", "key-octave"):
        if element.find(name) is not None:
            log(f"the <{name}> of a key signature was left out: programs draw its signs anew")
    looks = attributes_text(kept_attributes(element, "key", _NUMBER, log)) if element.attrib else ""
    mode = (element.findtext("mode") or "").strip()
    key = Key(whole(fifths, "<fifths>"), "" if mode == "none" else mode)
    if abs(key.fifths) > 14:
        raise InputError(f"<fifths> is {shown(fifths)}", way_out="use -7 to 7")
    interval = intervals.get(staff or 1, intervals.get(0))
    return KeySign(key.moved(interval) if interval else key, staff, "", looks)


def _metre(element: etree._Element, log: Log) -> Metre | None:
    symbol = element.get("symbol", "")
    if symbol and not is_allowed("time", "symbol", symbol):
        log(f"a time signature has the symbol {shown(symbol)}; it was left out")
        symbol = ""
    if element.find("senza-misura") is not None:
        return Metre((), (), symbol)
    beats = tuple((one.text or "").replace(" ", "") for one in element.findall("beats"))
    kinds = [(one.text or "").strip() for one in element.findall("beat-type")]
    if element.find("interchangeable") is not None:
        return None
    if not beats or len(beats) != len(kinds):
        raise InputError(
            f"a time signature has {len(beats)} upper and {len(kinds)} lower numbers",
            way_out="correct the file",
        )
    numbers = [number for text in beats for number in text.split("+")] + kinds
    for text in numbers:
        if not (is_digits(text) and 0 < int(text) <= MOST_BEATS):
            raise InputError(
                f"the time signature has {shown(text)} where a number belongs",
                way_out=f"use 1 to {MOST_BEATS}",
            )
    return Metre(beats, tuple(int(kind) for kind in kinds), symbol)


def _clef(element: etree._Element, log: Log) -> Clef | None:
    line = element.findtext("line")
    change = element.findtext("clef-octave-change")
    sign = (element.findtext("sign") or "").strip() or "G"
    if not is_form("clef-sign", sign):
        log(f"a clef has the sign {shown(sign)}, which the standard does not have; it was left out")
        return None
    return Clef(
        sign,
        whole(line, "the <line> of a clef") if line else 0,
        whole(change, "<clef-octave-change>", least=-9, most=9) if change else 0,
        whole(element.get("number") or "1", "the number of <clef>", least=1),
        attributes_text(kept_attributes(element, "clef", _NUMBER, log)) if element.attrib else "",
    )


def _instrument(details: etree._Element, before: Instrument | None) -> Instrument | None:
    """Read tuning and capo; ``None`` when the element tells neither.

    Strings that are not named keep the tuning that they had: a scordatura names one. The lines of
    a tab without any tuning are no instrument.
    """
    tunings, capo = details.findall("staff-tuning"), details.findtext("capo")
    if not tunings and (not capo or before is None):
        return None
    lines: dict[int, Pitch] = {}
    for tuning in tunings:
        line = whole(tuning.get("line"), "the line of <staff-tuning>", least=1, most=_MOST_LINES)
        lines[line] = _open_string(tuning)
    stated = details.findtext("staff-lines")
    strings = whole(stated, "<staff-lines>", most=_MOST_LINES) if stated else 0
    is_full = set(lines) == set(range(1, (strings or max(lines, default=0)) + 1))
    fret = whole(capo, "<capo>", least=0, most=23) if capo else 0
    if before is not None and strings in (0, before.strings) and (
        not is_full or len(lines) < before.strings
    ):  # fmt: skip
        if any(line > before.strings for line in lines):
            return None
        # Line 1 is the lowest line and carries the highest-numbered string.
        known = dict(enumerate(reversed(before.open_strings), 1)) | lines
        return replace(
            before,
            open_strings=tuple(known[line] for line in range(before.strings, 0, -1)),
            capo=fret if capo else before.capo,
        )
    if not is_full or not lines:
        return None
    return Instrument(tuple(lines[line] for line in range(len(lines), 0, -1)), capo=fret, frets=24)


def _open_string(tuning: etree._Element) -> Pitch:
    letter = (tuning.findtext("tuning-step") or "").strip().upper()
    if letter not in LETTERS or len(letter) != 1:
        raise InputError(f"<tuning-step> is {shown(letter)}", way_out="use A to G")
    return pitch(
        letter,
        whole(tuning.findtext("tuning-alter") or "0", "<tuning-alter>", least=-3, most=3),
        whole(tuning.findtext("tuning-octave"), "<tuning-octave>", least=0, most=9),
    )
