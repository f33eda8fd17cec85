"""Other notations: ABC, Humdrum kern, MIDI and MEI, read through music21."""

from variants.convert.formats import FORMATS, NotationFormat, format_of, sniffed
from variants.convert.through import read_other

__all__ = ["FORMATS", "NotationFormat", "format_of", "read_other", "sniffed"]
