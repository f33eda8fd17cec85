"""Other notations: ABC, Humdrum kern, MIDI and MEI, read through music21."""

from variants.convert.formats import FORMATS, Format, format_of, sniffed
from variants.convert.through import read_other

__all__ = ["FORMATS", "Format", "format_of", "read_other", "sniffed"]
