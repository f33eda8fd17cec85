"""How long a piece in another notation lasts, told from its text before anything is made of it.

A reader that makes tied notes and measures of a length makes as many as it is told to: thirty
bytes ask for a gigabyte. So whatever can stand for more time than it takes room is bounded here:
lengths, metres, tuplets, rests of many measures.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fractions import Fraction

from lxml import etree

from variants.errors import InputError
from variants.limits import MOST_QUARTERS, FileLimits

# A note, rest, metre or rest of one measure that lasts longer is a slip: the maxima has 32
# quarters, and some editions of chant write a verse as one measure.
LONGEST = 512
# Notes up to a breve take room in the file as they take time, so the bound on notes holds them.
_BREVE = 8
# Digits that are looked at; what has more is too long whatever it is.
_DIGITS = 9
_DOTS = 4
_WAY_OUT = "correct the length, or split the piece"

# ABC standard 2.1, 4: fields, comments, chord symbols and decorations hold no notes.
_ABC_TEXT = re.compile(r'^[A-Za-z]:.*$|%.*$|"[^"\n]*"|![^!\n]*!', re.MULTILINE)
_ABC_FIELD = re.compile(r"(?:^|\[)([LM]):\s*(\d+)\s*/\s*(\d+)", re.MULTILINE)
_ABC_NOTE = re.compile(r"(?:([A-Ga-gxyzZX])[,']*|\])(\d*)(/*)(\d*)")
_ABC_TUPLET = re.compile(r"\((\d+)(?::(\d*))?")
# Humdrum **kern: a reciprocal duration, a breve and more as zeros, n%m for m n-ths, dots.
_KERN_METRE = re.compile(r"^\*M(\d+)/(\d+)", re.MULTILINE)
_KERN_NOTE = re.compile(r"(\d+)(?:%(\d+))?(\.*)")
_NUMBER = re.compile(r"\d+")
_MEI_LENGTHS = {"breve": 8, "long": 16, "maxima": 32}
_MEI_NOTES = frozenset({"note", "rest", "chord", "space"})

# Where a length stands, and how many quarters it has.
Length = tuple[str, Fraction]


def check_lengths(lengths: Iterable[Length], limits: FileLimits) -> None:
    """Check that no length, nor all of the long ones together, is beyond any piece.

    Args:
        lengths: Each length with its place.
        limits: The bound on notes.

    Raises:
        InputError: One is, or there are too many notes; the error names the place.
    """
    total = Fraction(0)
    for count, (place, quarters) in enumerate(lengths, 1):
        if quarters > LONGEST:
            raise InputError(
                "a length here is longer than any note or measure", place=place, way_out=_WAY_OUT
            )
        total += quarters if quarters > _BREVE else 0
        if total > MOST_QUARTERS:
            raise InputError("it lasts longer than any score", place=place, way_out=_WAY_OUT)
        if count > limits.notes:
            raise InputError(
                "the score has too many notes", way_out="split it, or raise the limit (notes)"
            )


def _ratio(upper: str, lower: str) -> Fraction:
    """Return a ratio of two texts of digits; more than any length where one is out of bounds."""
    if len(upper) > _DIGITS:
        return Fraction(10**_DIGITS)
    below = int(lower[:_DIGITS] or 1)
    return Fraction(int(upper or 1), below or 1)


def abc_lengths(text: str) -> Iterator[Length]:
    r"""Yield the lengths of a tune: metres, unit lengths, notes, rests of measures.

    >>> [str(quarters) for _, quarters in abc_lengths("L:1/8\nM:3/4\nK:C\nA4 z2 Z3|")]
    ['1/2', '3', '2', '1', '9']
    """
    unit, metre = Fraction(1, 2), Fraction(4)
    for number, line in enumerate(text.split("\n"), 1):
        place = f"line {number} of the tune"
        for kind, upper, lower in _ABC_FIELD.findall(line):
            quarters = 4 * _ratio(upper, lower)
            yield place, quarters
            unit, metre = (quarters, metre) if kind == "L" else (unit, quarters)
        music = _ABC_TEXT.sub(" ", line)
        squeezed = (_ratio(into or "2", of) for of, into in _ABC_TUPLET.findall(music))
        widest = unit * max([Fraction(1), *squeezed])
        for letter, upper, slashes, lower in _ABC_NOTE.findall(music):
            part = _ratio(upper, lower or str(2 ** min(len(slashes), 8)))
            yield place, part * (metre if letter in ("Z", "X") else widest)


def kern_lengths(text: str) -> Iterator[Length]:
    r"""Yield the lengths of a Humdrum file: metres and notes of all spines.

    >>> [str(quarters) for _, quarters in kern_lengths("**kern\n*M3/4\n4.c\n00r\n=1\n*-")]
    ['3', '3/2', '16']
    """
    for number, line in enumerate(text.split("\n"), 1):
        place = f"line {number}"
        for upper, lower in _KERN_METRE.findall(line):
            yield place, 4 * _ratio(upper, lower)
        if line[:1] in ("*", "!", "="):
            continue
        for below, upper, dots in _KERN_NOTE.findall(line):
            is_long = not below.strip("0")
            whole = Fraction(2 ** min(len(below), 30)) if is_long else _ratio(upper, below)
            yield place, 4 * whole * (2 - Fraction(1, 2 ** min(len(dots), 30)))


def mei_lengths(root: etree._Element) -> Iterator[Length]:
    """Yield the lengths of an MEI tree: metres, notes, tuplets, rests of measures.

    Raises:
        InputError: A note has more dots than any has.
    """
    metre = Fraction(4)
    for element in root.iter(etree.Element):
        name = etree.QName(element).localname
        place = f"line {element.sourceline}"
        count = element.get("meter.count") or (element.get("count") if name == "meterSig" else None)
        if count:
            unit = element.get("meter.unit") or element.get("unit") or "4"
            parts = [_ratio(one, unit) for one in _NUMBER.findall(count)]
            metre = 4 * sum(parts, Fraction(0))
            yield place, metre
        elif name == "multiRest":
            yield place, metre * _mei_number(element, "num")
        elif name in _MEI_NOTES:
            if _mei_number(element, "dots") > _DOTS and element.get("dots"):
                raise InputError(
                    f"a note has more than {_DOTS} dots", place=place, way_out=_WAY_OUT
                )
            yield place, _mei_length(element)


def _mei_length(element: etree._Element) -> Fraction:
    written = element.get("dur") or "4"
    length = Fraction(_MEI_LENGTHS.get(written, 0)) or 4 / max(
        Fraction(1), _mei_number(element, "dur")
    )
    for outer in element.iterancestors("{*}tuplet"):
        length *= _mei_number(outer, "numbase") / max(Fraction(1), _mei_number(outer, "num"))
    return length * 2 if element.get("dots") else length


def _mei_number(element: etree._Element, name: str) -> Fraction:
    return _ratio("".join(_NUMBER.findall(element.get(name) or "1")[:1]), "1")
