"""What a file may cost, in one place.

The largest score of the corpora that we know has some 60,000 notes in 30 MB of XML; the limits
leave room above that and stop files that are made to do harm.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """Bounds on one input file.

    Args:
        file_bytes: Size of the file as it lies on disk.
        unpacked_bytes: Size of everything that a compressed file unpacks to.
        notes: Notes and rests of all parts together.
        measures: Measures of all parts together.
        ticks: Ticks in a quarter, the least common multiple of all divisions.
    """

    file_bytes: int = 64 * 2**20
    unpacked_bytes: int = 128 * 2**20
    notes: int = 500_000
    measures: int = 200_000
    ticks: int = 10**9


LIMITS = Limits()
# Nesting of XML elements; libxml2 enforces it unless it is asked not to. MusicXML needs about 12.
XML_DEPTH = 256
# Staves of one part; the organ has three.
MOST_STAVES = 32
# Voices of one measure of one part, after overlapping notes have been parted.
MOST_VOICES = 64
# Quarters in one measure: some editions of early music write a whole piece as one.
MOST_QUARTERS = 20_000
# Numbers in a time signature.
MOST_BEATS = 1024
