"""Tempo marks as MusicXML text: their numbers and beat units changed, the rest as it stood."""

from __future__ import annotations

import re
from collections.abc import Callable
from fractions import Fraction

from variants.music import NoteValue

_UNIT = re.compile(r"<beat-unit>\s*([a-z0-9]+)\s*</beat-unit>((?:\s*<beat-unit-dot\s*/>)*)")
_RATE = re.compile(r"(<per-minute\b[^>]*>)([^<]*)(</per-minute>)")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_SOUND = re.compile(r"(\btempo=)([\"'])\s*(\d+(?:\.\d+)?)\s*\2")


def beat_unit(xml: str) -> NoteValue | None:
    """Return the note value that a metronome mark counts, if it has just one."""
    found = _UNIT.findall(xml)
    if len(found) != 1:
        return None
    return NoteValue(found[0][0], found[0][1].count("<"))


def with_rates(xml: str, change: Callable[[Fraction], Fraction]) -> str:
    """Return a ``direction-type`` with every number of its metronome marks changed."""

    def one(found: re.Match[str]) -> str:
        text = _NUMBER.sub(lambda number: shown(change(Fraction(number.group()))), found.group(2))
        return f"{found.group(1)}{text}{found.group(3)}"

    return _RATE.sub(one, xml)


def with_units(xml: str, change: Callable[[str], str]) -> str:
    """Return a ``direction-type`` with the note types of its metronome marks changed."""

    def one(found: re.Match[str]) -> str:
        return f"<beat-unit>{change(found.group(1))}</beat-unit>{found.group(2)}"

    return _UNIT.sub(one, xml)


def with_tempo(sound: str, change: Callable[[Fraction], Fraction]) -> str:
    """Return a ``sound`` with its tempo (quarters a minute) changed."""

    def one(found: re.Match[str]) -> str:
        name, quote, number = found.groups()
        return f"{name}{quote}{shown(change(Fraction(number)))}{quote}"

    return _SOUND.sub(one, sound)


def metronome_xml(unit: NoteValue, rate: Fraction) -> str:
    """Return a ``direction-type`` that prints a metronome mark."""
    dots = "<beat-unit-dot/>" * unit.dots
    return (
        f"<direction-type><metronome><beat-unit>{unit.type}</beat-unit>{dots}"
        f"<per-minute>{shown(rate)}</per-minute></metronome></direction-type>"
    )


def shown(number: Fraction) -> str:
    """Return a tempo as it is printed: whole where it is, else with up to three decimals.

    >>> shown(Fraction(72)), shown(Fraction(125, 2))
    ('72', '62.5')
    """
    return str(number.numerator) if number.denominator == 1 else f"{float(number):.3f}".rstrip("0")
