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
        ticks: Ticks in a quarter, the least common multiple of all divisions.
    """

    file_bytes: int = 64 * 2**20
    unpacked_bytes: int = 256 * 2**20
    notes: int = 500_000
    ticks: int = 10**9


LIMITS = Limits()
# Nesting of XML elements; libxml2 enforces it unless it is asked not to. MusicXML needs about 12.
XML_DEPTH = 256
