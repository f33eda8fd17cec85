"""The areas of a level on one instrument, as sets of pitches that they hold."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from variants.levels.level import Area, Level
from variants.score import Instrument, Place

# What stands for the whole neck where a level names no area.
_WHOLE_NECK = Area(strings=tuple(range(1, 13)), frets=(0, 36))


@dataclass(frozen=True, slots=True)
class AreaChoice:
    """One way to stay within a level: strings and frets of an instrument.

    Args:
        strings: The strings, all of which may be used.
        low_fret: Lowest fret that is stopped.
        high_fret: Highest fret.
        open: Whether open strings are allowed.
        midi: The pitches that have a place, one bit for each MIDI number.
        is_own: The level itself teaches it; an easier level has others.
    """

    strings: tuple[int, ...]
    low_fret: int
    high_fret: int
    open: bool
    midi: int
    is_own: bool = True

    def holds(self, place: Place) -> bool:
        """Whether a place lies within."""
        if place.string not in self.strings:
            return False
        if place.fret == 0:
            return self.open
        return self.low_fret <= place.fret <= self.high_fret

    @property
    def lowest(self) -> int:
        """The lowest MIDI number that it holds."""
        return (self.midi & -self.midi).bit_length() - 1

    @property
    def highest(self) -> int:
        """The highest MIDI number that it holds."""
        return self.midi.bit_length() - 1


def choices(level: Level, instrument: Instrument, capo: int) -> tuple[AreaChoice, ...]:
    """Return the ways to stay within a level on an instrument with a capo.

    The areas that a level adds last come first: they are what it teaches; of single strings the
    thinnest comes first. What a level teaches is the area that it names last, or each of them
    where it extends no other level.
    """
    found: list[AreaChoice] = []
    for index, area in enumerate(reversed(level.areas or (_WHOLE_NECK,))):
        known = [number for number in area.strings if number <= instrument.strings]
        groups = [(one,) for one in known] if area.one_string else [tuple(known)]
        found += [
            replace(choice, is_own=not (level.extends and index))
            for strings in groups
            if strings and (choice := _choice(area, strings, instrument, capo)).midi
        ]
    return tuple(dict.fromkeys(found))


def _choice(area: Area, strings: tuple[int, ...], instrument: Instrument, capo: int) -> AreaChoice:
    low, high = max(1, area.frets[0]), min(area.frets[1], instrument.frets - capo)
    bits = 0
    is_open = area.open and area.frets[0] == 0
    for string in strings:
        first = instrument.first_frets[string - 1] if instrument.first_frets else 0
        start = instrument.open_midi[string - 1] - instrument.capo + capo
        if is_open:
            bits |= 1 << start
        for fret in range(low, min(high, instrument.frets - capo - first) + 1):
            bits |= 1 << (start + fret)
    return AreaChoice(strings, low, high, is_open, bits)


def bits_of(midi: Iterable[int]) -> int:
    """Return MIDI numbers as one bit each; those out of MIDI's range are one bit above it."""
    bits = 0
    for number in midi:
        bits |= 1 << (number if 0 <= number < 128 else 200)
    return bits
