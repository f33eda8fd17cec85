"""How a fretted part stands on paper: notation, tab, or both."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from variants.errors import UsageError
from variants.musicxml.note_writer import NoteStyle
from variants.score import Clef, Instrument, Part

# Lowest open string, in MIDI numbers, from which the clef of an instrument follows. Common
# practice: basses read the bass clef and sound an octave lower, guitars, banjos and tenor
# guitars the treble clef and sound an octave lower; the mandolin (lowest G3) and the ukulele
# (lowest C4) sound as written.
_BASS_BELOW = 33
_AS_WRITTEN_FROM = 55


class Staves(Enum):
    """Which staves to write for a fretted part; ``source`` keeps what the source had."""

    SOURCE = "source"
    NOTATION = "notation"
    TAB = "tab"
    BOTH = "both"

    @classmethod
    def parse(cls, text: Staves | str) -> Staves:
        """Return the member of a name.

        Raises:
            UsageError: There is none.
        """
        if isinstance(text, Staves):
            return text
        for one in cls:
            if one.value == text:
                return one
        raise UsageError(f"there is no layout {text!r}", way_out="use notation, tab or both")


@dataclass(frozen=True, slots=True)
class Layout:
    """The staves of one part as written.

    Args:
        clefs: The clefs to write; empty for a part that keeps its own.
        styles: One style for each staff; a single one for a part that keeps its own.
        tab_staff: Number of the tab staff, 0 for none.
    """

    clefs: tuple[Clef, ...]
    styles: tuple[NoteStyle, ...]
    tab_staff: int = 0

    @property
    def is_own(self) -> bool:
        """Whether the part keeps its own clefs, staves and transposition."""
        return not self.clefs


def layout_of(part: Part, staves: Staves, *, places: bool) -> Layout:
    """Return how a part is written.

    Args:
        part: The part.
        staves: What was asked for.
        places: Write string and fret on a notation staff that stands alone.
    """
    wish = part.layout if staves is Staves.SOURCE else staves.value
    if part.instrument is None or not wish:
        return Layout((), (NoteStyle(staff=0 if part.staves > 1 else -1),))
    treble = notation_clef(part.instrument)
    if wish == "notation":
        return Layout((treble,), (NoteStyle(places=places),))
    if wish == "tab":
        tab = Clef("TAB", tab_line(part.instrument))
        return Layout((tab,), (NoteStyle(),), 1)
    tab = Clef("TAB", tab_line(part.instrument), staff=2)
    above = NoteStyle(staff=1, places=False)
    below = NoteStyle(staff=2, fingers=False, marks=False, stems=False)
    return Layout((treble, tab), (above, below), 2)


def notation_clef(instrument: Instrument) -> Clef:
    """Return the clef that players of an instrument read."""
    lowest = min(string.midi for string in instrument.open_strings)
    if lowest < _BASS_BELOW:
        return Clef("F", 4, -1)
    return Clef("G", 2, 0 if lowest >= _AS_WRITTEN_FROM else -1)


def tab_line(instrument: Instrument) -> int:
    """Return the line that the TAB clef stands on: the usual 5 of a six-line tab, or the top."""
    return min(5, instrument.strings)
