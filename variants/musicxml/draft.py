"""A note as it stands in the file, before events are made of notes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from variants.music import NoteValue, Pitch
from variants.score import Extra, Lyric, Mark, Place


@dataclass(slots=True)
class Draft:
    """One note element as read."""

    chord: bool = False
    rest: bool = False
    measure_rest: bool = False
    cue: bool = False
    pitch: Pitch | None = None
    duration: str | None = None
    tie_start: bool = False
    tie_stop: bool = False
    voice: str = ""
    staff: int = 0
    type: str = ""
    dots: int = 0
    actual: int = 1
    normal: int = 1
    normal_type: str = ""
    normal_dots: int = 0
    accidental: str = ""
    stem: str = ""
    finger: str = ""
    pluck: str = ""
    string: int = 0
    fret: int = -1
    grace: tuple[tuple[str, str], ...] | None = None
    beams: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    lyrics: tuple[Lyric, ...] = ()
    extras: tuple[Extra, ...] = ()
    faults: tuple[str, ...] = ()

    def log(self, message: str) -> None:
        """Note what was left out; the measure reader tells it with the place."""
        self.faults = (*self.faults, message)

    @property
    def value(self) -> NoteValue:
        """The printed note value."""
        if self.actual == self.normal == 1 and not self.normal_type:
            return note_value(self.type, self.dots)
        return note_value(
            self.type, self.dots, self.actual, self.normal, self.normal_type, self.normal_dots
        )


note_value = lru_cache(maxsize=1024)(NoteValue)
place = lru_cache(maxsize=1024)(Place)
