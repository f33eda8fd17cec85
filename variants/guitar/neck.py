"""The neck in millimetres: where the frets and the strings are, and which frets are marked.

A fretboard, nut at the left; fret ``n`` is ``L * (1 - 2 ** (-n / 12))`` from the nut::

    string 1  |---o---|--o---|-o---|      string 1 is drawn on top, as in tab
    string 2  |-------|------|-----|      o = where a fingertip stops the string
              nut     1      2     3

Equal temperament makes twelve equal ratios of an octave, so each fret takes away 1/17.817 of the
length that is left. The old rule of thumb of the trade was one eighteenth.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from variants.errors import UsageError
from variants.music import Interval

# Full, 3/4, 1/2 and 1/4: one maker's table for children's classical guitars (yikaow.com 82517);
# 7/8: another's, rounded (moms.de). There is no standard for fractional sizes, so a length is
# always a parameter. The two electric lengths are 24.75 and 25.5 inches
# (ghettoluthier.blogspot, July 2013, which also has the rule of 17.817).
SCALE_LENGTHS_MM: dict[str, float] = {
    "full": 650.0,
    "7/8": 620.0,
    "3/4": 578.0,
    "1/2": 522.0,
    "1/4": 484.0,
    "electric-short": 628.65,
    "electric-long": 647.7,
}

# Common practice on steel-string and electric guitars; the twelfth has two dots, and so has the
# twenty-fourth where there is one. Most classical guitars are unmarked.
MARKED_FRETS = (3, 5, 7, 9, 12, 15, 17, 19, 21, 24)
DOUBLE_MARKED_FRETS = (12, 24)


def fret_mm(fret: float, *, scale_length_mm: float) -> float:
    """Return the distance of a fret from the nut in millimetres.

    Args:
        fret: Fret number, 0 being the nut; a fraction is a place between two frets.
        scale_length_mm: Length of the open string.

    >>> [round(fret_mm(fret, scale_length_mm=650), 1) for fret in (1, 2, 3, 5, 7, 12)]
    [36.5, 70.9, 103.4, 163.1, 216.2, 325.0]
    """
    return float(scale_length_mm * (1.0 - 2.0 ** (-fret / 12.0)))


def span_mm(low_fret: float, high_fret: float, *, scale_length_mm: float) -> float:
    """Return the distance between two frets along the neck, never negative.

    >>> round(span_mm(1, 4, scale_length_mm=650), 1), round(span_mm(10, 7, scale_length_mm=650), 1)
    (97.6, 69.0)
    """
    low = fret_mm(low_fret, scale_length_mm=scale_length_mm)
    return abs(fret_mm(high_fret, scale_length_mm=scale_length_mm) - low)


def marked_frets(frets: int) -> tuple[int, ...]:
    """Return the marked frets of a neck with so many frets.

    >>> marked_frets(12)
    (3, 5, 7, 9, 12)
    """
    return tuple(fret for fret in MARKED_FRETS if fret <= frets)


@dataclass(frozen=True, slots=True)
class StringSpacing:
    """Distance in millimetres between the middles of the two outer strings.

    Args:
        nut_mm: At the nut.
        bridge_mm: At the bridge.
    """

    nut_mm: float
    bridge_mm: float


# Common practice, from memory, unvalidated: usual makers' figures, rounded to a millimetre.
STRING_SPACINGS: dict[str, StringSpacing] = {
    "classical": StringSpacing(43.0, 58.0),
    "steel": StringSpacing(37.0, 55.0),
    "electric": StringSpacing(35.0, 52.0),
    "seven": StringSpacing(41.0, 62.0),
    "baritone": StringSpacing(36.0, 53.0),
    "bass": StringSpacing(31.0, 57.0),
    "ukulele": StringSpacing(28.0, 41.0),
    "tenor": StringSpacing(25.0, 34.0),
    "mandolin": StringSpacing(23.0, 37.0),
    "banjo": StringSpacing(26.0, 41.0),
}


@dataclass(frozen=True, slots=True)
class Neck:
    """A neck as a plane: x along the strings from the nut, y across them from the middle.

    Args:
        strings: Number of strings.
        frets: Number of frets.
        scale_length_mm: Length of the open string.
        spacing: Where the outer strings run; the others divide the room between them evenly.

    Raises:
        UsageError: A length or a number that is not positive.

    >>> neck = Neck(strings=6, frets=22)
    >>> round(neck.fret_mm(12)), round(neck.string_gap_mm(0), 1), round(neck.string_gap_mm(12), 1)
    (325, 8.6, 10.1)
    """

    strings: int
    frets: int
    scale_length_mm: float = SCALE_LENGTHS_MM["full"]
    spacing: StringSpacing = STRING_SPACINGS["classical"]

    def __post_init__(self) -> None:
        if self.strings < 1 or self.frets < 1:
            raise UsageError(
                f"a neck of {self.strings} strings and {self.frets} frets",
                way_out="give at least one of each",
            )
        if min(self.scale_length_mm, self.spacing.nut_mm, self.spacing.bridge_mm) <= 0:
            raise UsageError("a neck with a length that is not positive", way_out="give it in mm")

    def fret_mm(self, fret: float) -> float:
        """Return the distance of a fret from the nut; frets count from the nut."""
        return fret_mm(fret, scale_length_mm=self.scale_length_mm)

    def span_mm(self, low_fret: float, high_fret: float) -> float:
        """Return the distance between two frets along the neck."""
        return span_mm(low_fret, high_fret, scale_length_mm=self.scale_length_mm)

    def string_gap_mm(self, fret: float) -> float:
        """Return the distance between neighbouring strings at a fret; 0 with one string."""
        if self.strings == 1:
            return 0.0
        along = self.fret_mm(fret) / self.scale_length_mm
        outer = self.spacing.nut_mm + along * (self.spacing.bridge_mm - self.spacing.nut_mm)
        return outer / (self.strings - 1)

    def point_mm(self, string: int, fret: float) -> tuple[float, float]:
        """Return x and y of a string at a fret; y grows toward string 1.

        Raises:
            UsageError: There is no such string.
        """
        if not 1 <= string <= self.strings:
            raise UsageError(
                f"there is no string {string}", way_out=f"strings go from 1 to {self.strings}"
            )
        middle = (self.strings + 1) / 2
        return self.fret_mm(fret), (middle - string) * self.string_gap_mm(fret)

    def reach_mm(self, first: tuple[int, float], second: tuple[int, float]) -> float:
        """Return the straight distance between two places, each a string and a fret.

        >>> round(Neck(strings=6, frets=22).reach_mm((6, 1), (1, 4)), 1)
        107.5
        """
        x1, y1 = self.point_mm(*first)
        x2, y2 = self.point_mm(*second)
        return float(((x1 - x2) ** 2 + (y1 - y2) ** 2) ** 0.5)


def fret_difference(
    open_midi: Sequence[int], *, low_string: int, high_string: int, semitones: int
) -> int:
    """Return by how many frets the note on ``high_string`` stands above the one on ``low_string``.

    Args:
        open_midi: MIDI number of each open string, string 1 first.
        low_string: The string of the lower note.
        high_string: The string of the higher note.
        semitones: The interval from the lower note to the higher.

    Raises:
        UsageError: There is no such string, or both are the same.

    >>> fret_difference((64, 59, 55, 50, 45, 40), low_string=6, high_string=5, semitones=7)
    2
    """
    for string in (low_string, high_string):
        if not 1 <= string <= len(open_midi):
            raise UsageError(
                f"there is no string {string}", way_out=f"strings go from 1 to {len(open_midi)}"
            )
    if low_string == high_string:
        raise UsageError(
            f"two notes cannot sound on string {low_string} at once", way_out="name two strings"
        )
    return semitones - (open_midi[high_string - 1] - open_midi[low_string - 1])


def interval_table(
    open_midi: Sequence[int], *, intervals: Iterable[str], apart: int = 1
) -> dict[tuple[int, int], dict[str, int]]:
    """Return the interval-to-fret table of a tuning.

    Args:
        open_midi: MIDI number of each open string, string 1 first.
        intervals: Names of intervals: ``m3``, ``P5``, ...
        apart: How many strings apart the pairs are; 1 for neighbours.

    Returns:
        For each pair (lower note's string, higher note's string), lowest pair first, the fret
        difference of each interval.

    >>> interval_table((64, 59, 55, 50, 45, 40), intervals=["P4", "P5"])[(3, 2)]
    {'P4': 1, 'P5': 3}
    """
    sizes = {name: Interval.parse(name).semitones for name in intervals}
    return {
        (low, low - apart): {
            name: fret_difference(
                open_midi, low_string=low, high_string=low - apart, semitones=size
            )
            for name, size in sizes.items()
        }
        for low in range(len(open_midi), apart, -1)
    }
