"""The surroundings by which a pin is found again: the notes of its measure, and its neighbours."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from variants.music import Pitch
from variants.score import Part, Score, measures, timeline
from variants.score.timeline import MeasureView, Take

# The pitches that begin at a moment, from the lowest up.
Chord = tuple[int, ...]


@dataclass(frozen=True)
class PinContext:
    """The moments of a part with their surroundings; its parts are found when asked for."""

    score: Score
    part: Part

    @cached_property
    def views(self) -> tuple[MeasureView, ...]:
        """The measures."""
        return tuple(measures(self.part, self.score.ticks))

    @cached_property
    def moments(self) -> list[list[Take]]:
        """What begins together, in order of time."""
        found: dict[tuple[int, int, int], list[Take]] = {}
        for take in timeline(self.part).takes:
            found.setdefault((*take.moment, take.measure if take.grace else 0), []).append(take)
        return list(found.values())

    @cached_property
    def chords(self) -> list[Chord]:
        """The pitches of each moment."""
        return [tuple(sorted({take.pitch.midi for take in here})) for here in self.moments]

    @cached_property
    def of_measure(self) -> dict[int, list[int]]:
        """The moments of each measure, by their places in ``moments``."""
        found: dict[int, list[int]] = {}
        for place, here in enumerate(self.moments):
            found.setdefault(here[0].measure, []).append(place)
        return found

    def content(self, measure: int) -> tuple[Chord, ...]:
        """Return the pitches that begin in a measure, moment by moment."""
        return tuple(self.chords[place] for place in self.of_measure.get(measure, ()))

    def around(self, places: Sequence[int]) -> tuple[Chord, Chord]:
        """Return what is struck before the first of some moments, and after the last."""
        if not places:
            return (), ()
        before = self.chords[places[0] - 1] if places[0] else ()
        after = self.chords[places[-1] + 1] if places[-1] + 1 < len(self.chords) else ()
        return before, after

    def beat(self, place: int) -> str:
        """Return the beat of a moment as reports name it."""
        take = self.moments[place][0]
        return self.views[take.measure].beat_text(take.tick)

    def text(self, places: Sequence[int]) -> str:
        """Return the notes of some moments as a pin writes them: ``E4 C4+G4``."""
        return " ".join(
            "+".join(str(one) for one in _distinct(self.moments[place])) for place in places
        )

    def said(self, place: int) -> dict[str, str]:
        """Return the context of a moment as the fields of a pin."""
        measure = self.moments[place][0].measure
        last = len(self.moments) - 1
        return {
            "measure": self.views[measure].measure.number,
            "beat": self.beat(place),
            "notes": self.text(self.of_measure[measure]),
            "before": self.text([place - 1] if place else []),
            "after": self.text([place + 1] if place < last else []),
        }


def _distinct(takes: Sequence[Take]) -> list[Pitch]:
    found = {take.pitch.midi: take.pitch for take in takes}
    return [found[midi] for midi in sorted(found)]


def chords_of(text: str) -> tuple[Chord, ...]:
    """Return the pitches of a text of a pin.

    >>> chords_of("E4 C4+G4")
    ((64,), (60, 67))
    """
    return tuple(
        tuple(sorted(Pitch.parse(name).midi for name in re.split(r"\+", chord)))
        for chord in text.split()
    )
