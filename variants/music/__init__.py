"""Values of music: pitch, interval, key, note value, metre. No XML, no guitar."""

from variants.music.duration import NoteValue, single_value
from variants.music.key import Key, printable, spelled
from variants.music.metre import Metre
from variants.music.pitch import PERFECT_OCTAVE, UNISON, Interval, Pitch, accidental_text, pitch

__all__ = [
    "PERFECT_OCTAVE",
    "UNISON",
    "Interval",
    "Key",
    "Metre",
    "NoteValue",
    "Pitch",
    "accidental_text",
    "pitch",
    "printable",
    "single_value",
    "spelled",
]
