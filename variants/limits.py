"""What a file may cost, in one place.

The largest score of the corpora that we know has some 60,000 notes in 30 MB of XML; the limits
leave room above that and stop files that are made to do harm. ``docs/limits.md`` tells users of
them; a test compares the two.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace

from variants.errors import UsageError

# Nesting of XML elements that libxml2 enforces unless it is asked not to.
XML_DEPTH = 256


@dataclass(frozen=True, slots=True, kw_only=True)
class FileLimits:
    """Bounds on one input file.

    Args:
        file_bytes: Size of the file as it lies on disk.
        unpacked_bytes: Size of everything that a compressed file unpacks to.
        notes: Notes and rests of all parts together.
        measures: Measures of all parts together.
        ticks: Ticks in a quarter, the least common multiple of all divisions.
        depth: Levels of nesting of XML elements; MusicXML needs about 12.
        seconds: Time for one score, from its file to what is written or shown.
    """

    file_bytes: int = 64 * 2**20
    unpacked_bytes: int = 128 * 2**20
    notes: int = 500_000
    measures: int = 200_000
    ticks: int = 10**9
    depth: int = XML_DEPTH
    seconds: int = 600


LIMITS = FileLimits()
# Staves of one part; the organ has three.
MOST_STAVES = 32
# Voices of one measure of one part, after overlapping notes have been parted.
MOST_VOICES = 64
# Quarters in one measure: some editions of early music write a whole piece as one.
MOST_QUARTERS = 20_000
# Numbers in a time signature.
MOST_BEATS = 1024


def parse_limits(text: str) -> FileLimits:
    """Return limits from a text like ``notes=1000000,seconds=60``; the rest stays as it is.

    Raises:
        UsageError: There is no such limit, or its value is no whole number above 0.

    >>> parse_limits("notes=1000, seconds=60").notes
    1000
    """
    names = [one.name for one in fields(FileLimits)]
    values = {}
    for item in text.split(","):
        name, _, value = (piece.strip() for piece in item.partition("="))
        if not item.strip():
            continue
        if name not in names:
            raise UsageError(f"there is no limit {name[:24]!r}", way_out=f"use {', '.join(names)}")
        if not (value.isascii() and value.isdigit() and len(value) <= 15 and int(value) > 0):
            raise UsageError(
                f"the limit {name} is {value[:24]!r}", way_out="give a whole number above 0"
            )
        values[name] = int(value)
    return replace(LIMITS, **values)
