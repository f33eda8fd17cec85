"""Spelled pitch and interval.

A pitch is a letter, an alteration and an octave (scientific pitch notation, ISO 16 reference
A4; MIDI note 60 is C4). An interval is a number of letter steps and a number of semitones, so
that an augmented fourth and a diminished fifth stay different things.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from variants.errors import UsageError

LETTERS = "CDEFGAB"
# Semitones of the natural letters above C (the white keys).
NATURALS = (0, 2, 4, 5, 7, 9, 11)
Alteration = int | Fraction

_SIGNS = {"b": -1, "♭": -1, "-": -1, "#": 1, "♯": 1, "x": 2, "n": 0}
_PITCH = re.compile(r"([A-Ga-g])([b#♭♯x]*)(-?\d{1,2})\Z")
_LETTER_INDEX = {letter: index for index, letter in enumerate(LETTERS)}


def accidental_text(alter: Alteration) -> str:
    """Return the ASCII signs of an alteration.

    >>> accidental_text(-2), accidental_text(0), accidental_text(1)
    ('bb', '', '#')
    >>> accidental_text(Fraction(1, 2))
    '(+1/2)'
    """
    if alter != int(alter):
        return f"({'+' if alter > 0 else ''}{alter})"
    return "#" * int(alter) if alter >= 0 else "b" * int(-alter)


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch that sounds.

    Args:
        letter: One of ``CDEFGAB``.
        alter: Semitones that the accidental adds; a fraction for microtones.
        octave: Octave number; C4 is middle C.

    Raises:
        UsageError: The letter is not one of the seven.

    >>> Pitch("F", 1, 4).midi, str(Pitch("B", -1, 3))
    (66, 'Bb3')
    """

    letter: str
    alter: Alteration
    octave: int

    def __post_init__(self) -> None:
        if self.letter not in _LETTER_INDEX:
            raise UsageError(f"{self.letter!r} is no note letter", way_out="use A to G")

    @classmethod
    def parse(cls, text: str) -> Pitch:
        """Read ``"F#4"``, ``"Bb3"``, ``"c-1"``.

        Raises:
            UsageError: The text is no note with an octave.
        """
        found = _PITCH.match(text.strip())
        if not found:
            raise UsageError(
                f"{text!r} is no note", way_out="write letter, sign and octave, as in F#4 or Bb2"
            )
        letter, signs, octave = found.groups()
        return pitch(letter.upper(), sum(_SIGNS[sign] for sign in signs), int(octave))

    @property
    def midi(self) -> int:
        """MIDI note number (60 is C4); a microtone is rounded down to the semitone below."""
        return 12 * (self.octave + 1) + NATURALS[_LETTER_INDEX[self.letter]] + int(self.alter // 1)

    @property
    def semitones(self) -> Alteration:
        """Exact height in semitones on the MIDI scale; a fraction for microtones."""
        return 12 * (self.octave + 1) + NATURALS[_LETTER_INDEX[self.letter]] + self.alter

    @property
    def pitch_class(self) -> Alteration:
        """Height modulo the octave: 0 is C, 11 is B; a fraction for microtones."""
        return (NATURALS[_LETTER_INDEX[self.letter]] + self.alter) % 12

    @property
    def is_microtone(self) -> bool:
        """Whether the pitch lies between two semitones."""
        return self.alter != int(self.alter)

    @property
    def steps(self) -> int:
        """Letter steps above C0, for staff positions: C4 is 28."""
        return 7 * self.octave + _LETTER_INDEX[self.letter]

    @property
    def name(self) -> str:
        """The name without the octave: ``F#``."""
        return self.letter + accidental_text(self.alter)

    @property
    def fifths(self) -> int:
        """Place on the line of fifths: C is 0, G is 1, F is -1, F# is 6. Microtones as naturals."""
        return fifths_of(self.letter, int(self.alter // 1))

    def __str__(self) -> str:
        return f"{self.name}{self.octave}"

    def __add__(self, interval: Interval) -> Pitch:
        return _moved(self, interval.steps, interval.semitones)

    def moved_octaves(self, octaves: int) -> Pitch:
        """Return the pitch ``octaves`` higher, with the same spelling."""
        return pitch(self.letter, self.alter, self.octave + octaves) if octaves else self


@lru_cache(maxsize=4096)
def pitch(letter: str, alter: Alteration, octave: int) -> Pitch:
    """Return a shared `Pitch`: scores hold few different ones and very many notes."""
    return Pitch(letter, alter, octave)


@lru_cache(maxsize=8192)
def _moved(source: Pitch, steps: int, semitones: int) -> Pitch:
    octave, index = divmod(source.steps + steps, 7)
    natural = 12 * (octave + 1) + NATURALS[index]
    return pitch(LETTERS[index], source.semitones + semitones - natural, octave)


def fifths_of(letter: str, alter: int) -> int:
    """Return the place of a name on the line of fifths, C being 0.

    >>> [fifths_of(letter, 0) for letter in "FCGDAEB"], fifths_of("B", -1)
    ([-1, 0, 1, 2, 3, 4, 5], -2)
    """
    return "FCGDAEB".index(letter) - 1 + 7 * alter


def name_at_fifths(fifths: int) -> tuple[str, int]:
    """Return letter and alteration of a place on the line of fifths.

    >>> name_at_fifths(6), name_at_fifths(-2)
    (('F', 1), ('B', -1))
    """
    alter, index = divmod(fifths + 1, 7)
    return "FCGDAEB"[index], alter


# Semitones of the perfect and major intervals by their number less one, within an octave.
_SIZES = NATURALS
_PERFECT = frozenset({0, 3, 4})
_INTERVAL = re.compile(r"([+-]?)([PMmAd]+)(\d{1,2})\Z")


@dataclass(frozen=True, slots=True)
class Interval:
    """A directed interval: letter steps and semitones, both negative downward.

    >>> Interval.parse("m3"), str(Interval.parse("-P4"))
    (Interval(steps=2, semitones=3), '-P4')
    >>> str(Pitch.parse("F#4") + Interval.parse("m3"))
    'A4'
    """

    steps: int
    semitones: int

    @classmethod
    def parse(cls, text: str) -> Interval:
        """Read quality and number as the trade writes them: ``m3``, ``-P4``, ``A4``, ``M10``.

        Raises:
            UsageError: The text is no interval.
        """
        found = _INTERVAL.match(text.strip())
        way_out = "write quality and number, as in m3, -P4, A4 or P5"
        if not found:
            raise UsageError(f"{text!r} is no interval", way_out=way_out)
        sign, quality, number = found.group(1), found.group(2), int(found.group(3))
        if number < 1:
            raise UsageError(f"{text!r} is no interval", way_out=way_out)
        octaves, index = divmod(number - 1, 7)
        extra = _quality_offset(quality, perfect=index in _PERFECT)
        if extra is None:
            raise UsageError(f"{text!r} is no interval", way_out=way_out)
        size = 12 * octaves + _SIZES[index] + extra
        return cls(1 - number, -size) if sign == "-" else cls(number - 1, size)

    @classmethod
    def between(cls, low: Pitch, high: Pitch) -> Interval:
        """Return the interval from one pitch to another (microtones rounded down)."""
        return cls(high.steps - low.steps, high.midi - low.midi)

    @classmethod
    def of_semitones(cls, semitones: int) -> Interval:
        """Return the usual name of a distance: 6 is an augmented fourth, as in a major scale.

        >>> str(Interval.of_semitones(3)), str(Interval.of_semitones(-14))
        ('m3', '-M9')
        """
        octaves, rest = divmod(abs(semitones), 12)
        steps = 7 * octaves + (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)[rest]
        return cls(steps, semitones) if semitones >= 0 else cls(-steps, semitones)

    def __neg__(self) -> Interval:
        return Interval(-self.steps, -self.semitones)

    def __add__(self, other: Interval) -> Interval:
        return Interval(self.steps + other.steps, self.semitones + other.semitones)

    @property
    def fifths(self) -> int:
        """How far the interval moves a name on the line of fifths: P5 is 1, m3 is -3.

        A step along the line is seven semitones and four letters, and the octave is free, so
        the distance is ``7 * semitones - 12 * steps``.
        """
        return 7 * self.semitones - 12 * self.steps

    @property
    def simple(self) -> Interval:
        """The interval within an octave, upward: a tenth becomes a third; an octave stays."""
        up = self if (self.steps, self.semitones) >= (0, 0) else -self
        if up.steps < 0:
            up = -up
        octaves = (up.steps - 1) // 7 if up.steps else 0
        return Interval(up.steps - 7 * octaves, up.semitones - 12 * octaves)

    @property
    def complement(self) -> Interval:
        """What fills a simple interval up to the octave: a fifth gives a fourth."""
        simple = self.simple
        return Interval(7 - simple.steps, 12 - simple.semitones)

    @property
    def name(self) -> str:
        """Quality and number without direction: ``P5``, ``m10``, ``A4``."""
        steps, semitones = self.steps, self.semitones
        if steps < 0 or (steps == 0 and semitones < 0):
            steps, semitones = -steps, -semitones
        octaves, index = divmod(steps, 7)
        extra = semitones - 12 * octaves - _SIZES[index]
        return f"{_quality_name(extra, perfect=index in _PERFECT)}{steps + 1}"

    def __str__(self) -> str:
        down = self.steps < 0 or (self.steps == 0 and self.semitones < 0)
        return f"-{self.name}" if down else self.name


def _quality_offset(quality: str, *, perfect: bool) -> int | None:
    if perfect:
        known = {"P": 0, "A": 1, "AA": 2, "d": -1, "dd": -2}
    else:
        known = {"M": 0, "m": -1, "A": 1, "AA": 2, "d": -2, "dd": -3}
    return known.get(quality)


def _quality_name(extra: int, *, perfect: bool) -> str:
    if extra > 0:
        return "A" * extra
    if perfect:
        return "d" * -extra if extra else "P"
    return ("M", "m")[-extra] if extra > -2 else "d" * (-extra - 1)


PERFECT_OCTAVE = Interval(7, 12)
UNISON = Interval(0, 0)
