"""Finds out whether a part is for a fretted instrument, and for which one."""

from __future__ import annotations

import re

from variants.score import STANDARD_GUITAR, Attributes, Clef, Instrument, Part

# General MIDI level 1: programs 25-32 are guitars, 33-40 basses, 106 is the banjo.
GUITAR_PROGRAMS = range(25, 33)
_NAMES = re.compile(r"guitar|\bgtr|\bguit|gitar|guitare|chitarra|guitarra|\be-?gtr", re.IGNORECASE)
_NOT_GUITAR = re.compile(r"\bbass|\bbaix|bajo", re.IGNORECASE)
_SOUND = re.compile(r"<instrument-sound>pluck\.guitar")


def attributes_of(part: Part) -> list[Attributes]:
    """Return every attributes value of a part in order."""
    return [change for measure in part.measures for change in measure.attributes]


def clefs_of(part: Part) -> list[Clef]:
    """Return every clef of a part in order."""
    return [clef for change in attributes_of(part) for clef in change.clefs]


def find_instrument(part: Part) -> Instrument | None:
    """Return the instrument of a part, ``None`` when nothing speaks for a fretted one.

    A tuning in the file comes first; a tab staff without one, a name, a sound or a General MIDI
    program of a guitar mean the standard guitar, marked as assumed.
    """
    for change in attributes_of(part):
        if change.instrument is not None:
            return change.instrument
    if any(clef.sign == "TAB" for clef in clefs_of(part)) or is_named_guitar(part):
        return STANDARD_GUITAR
    return None


def is_named_guitar(part: Part) -> bool:
    """Whether name, sound or program of a part say guitar."""
    name = f"{part.name} {part.abbreviation}"
    if _NAMES.search(name):
        return not _NOT_GUITAR.search(name)
    if any(_SOUND.search(extra.xml) for extra in part.carried):
        return True
    return part.midi_program in GUITAR_PROGRAMS
