"""The only place that knows XML: reader, writer, compressed files, limits."""

from variants.limits import LIMITS, FileLimits
from variants.musicxml.layout import Staves
from variants.musicxml.octave import Reading, settle_octaves
from variants.musicxml.reader import read, read_bytes, read_raw
from variants.musicxml.writer import to_bytes, to_mxl

__all__ = [
    "LIMITS",
    "FileLimits",
    "Reading",
    "Staves",
    "read",
    "read_bytes",
    "read_raw",
    "settle_octaves",
    "to_bytes",
    "to_mxl",
]
