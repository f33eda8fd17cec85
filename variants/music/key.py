"""Keys on the circle of fifths."""

from __future__ import annotations

import re
from dataclasses import dataclass

from variants.errors import UsageError
from variants.music.pitch import (
    NATURALS,
    Interval,
    Pitch,
    accidental_text,
    fifths_of,
    name_at_fifths,
    pitch,
)

# Where the tonic of each mode lies from the tonic of the major scale with the same signature,
# in fifths (the church modes are the white-key scales on C, D, E, F, G, A, B).
_MODE_FIFTHS = {
    "major": 0,
    "ionian": 0,
    "dorian": 2,
    "phrygian": 4,
    "lydian": -1,
    "mixolydian": 1,
    "minor": 3,
    "aeolian": 3,
    "locrian": 5,
}
# No printed signature has more than seven sharps or flats.
MOST_FIFTHS = 7
_KEY = re.compile(r"([A-Ga-g])([b#♭♯]?)[ _-]*([A-Za-z]*)\Z")


@dataclass(frozen=True, slots=True)
class Key:
    """A key signature with its mode.

    Args:
        fifths: Sharps (positive) or flats (negative) of the signature.
        mode: ``major``, ``minor`` or a church mode; empty when the source does not say.

    >>> str(Key.parse("E minor")), Key.parse("Bb").fifths, str(Key(4, "minor"))
    ('E minor', -2, 'C# minor')
    """

    fifths: int
    mode: str = ""

    @classmethod
    def parse(cls, text: str) -> Key:
        """Read ``"E minor"``, ``"Bb"``, ``"F# minor"``, ``"em"``, ``"D dorian"``.

        Raises:
            UsageError: The text is no key, or its signature would need more than 7 signs.
        """
        found = _KEY.match(text.strip())
        mode = _mode(found.group(3)) if found else None
        if not found or mode is None:
            raise UsageError(
                f"{text!r} is no key", way_out="write tonic and mode, as in E minor or Bb major"
            )
        signs = {"": 0, "b": -1, "♭": -1, "#": 1, "♯": 1}
        tonic = fifths_of(found.group(1).upper(), signs[found.group(2)])
        fifths = tonic - _MODE_FIFTHS[mode]
        if abs(fifths) > MOST_FIFTHS:
            raise UsageError(
                f"{text!r} would need a signature of {abs(fifths)} signs",
                way_out=f"name it {Key(_nearest(fifths), mode)}",
            )
        return cls(fifths, mode)

    @property
    def tonic(self) -> str:
        """Name of the tonic; of the major scale if the mode is not known."""
        letter, alter = name_at_fifths(self.fifths + _MODE_FIFTHS.get(self.mode, 0))
        return letter + accidental_text(alter)

    @property
    def is_known_mode(self) -> bool:
        """Whether the mode is one that has a tonic of its own."""
        return self.mode in _MODE_FIFTHS

    def moved(self, interval: Interval) -> Key:
        """Return the key an interval away; it may need more signs than can be printed."""
        return Key(self.fifths + interval.fifths, self.mode)

    def altered(self, letter: str) -> int:
        """Return what the signature does to a letter: 1 for F in D major.

        >>> Key(2).altered("F"), Key(-1).altered("B"), Key(2).altered("G")
        (1, -1, 0)
        """
        # Each further seven signs put one more sharp or flat on every letter in the same order.
        return (self.fifths - "FCGDAEB".index(letter) + 6) // 7

    def __str__(self) -> str:
        return f"{self.tonic} {self.mode or 'major'}"


def _mode(text: str) -> str | None:
    if text in {"m", "min"}:
        return "minor"
    lowered = text.lower()
    if lowered in {"", "maj", "major"} or text == "M":
        return "major"
    return lowered if lowered in _MODE_FIFTHS else None


def _nearest(fifths: int) -> int:
    while fifths > MOST_FIFTHS - 1:
        fifths -= 12
    while fifths < 1 - MOST_FIFTHS:
        fifths += 12
    return fifths


def printable(fifths: int) -> int:
    """Return the enharmonic signature that can be printed: 9 sharps become 3 flats.

    >>> printable(9), printable(-8), printable(7)
    (-3, 4, 7)
    """
    return fifths if abs(fifths) <= MOST_FIFTHS else _nearest(fifths)


def spelled(midi: int, key: Key) -> Pitch:
    """Return the usual spelling of a MIDI number in a key.

    Common practice: beside the scale, the raised fourth and tonic upward, the lowered seventh,
    third and sixth downward (of the major scale with the same signature).

    >>> str(spelled(61, Key(0))), str(spelled(61, Key(-3))), str(spelled(70, Key(0)))
    ('C#4', 'Db4', 'Bb4')
    """
    # Seven semitones are a fifth, so a pitch class times seven is its place on the line of
    # fifths modulo twelve; the window of twelve around the key picks one name.
    first = key.fifths - 4
    place = (7 * midi - first) % 12 + first
    letter, alter = name_at_fifths(place)
    octave = (midi - alter - NATURALS["CDEFGAB".index(letter)]) // 12 - 1
    return pitch(letter, alter, octave)
