"""How hard the rhythm of a measure is to read: `simplify-rhythm` never makes one harder."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from variants.score import Event, Measure, Part
from variants.steps.rhythm.grid import BEATS, Grid


@dataclass(frozen=True, slots=True)
class Burden:
    """What makes the rhythm of a measure hard; the more of each, the harder.

    Args:
        ties: Notes that are held over from another by a tie.
        tied_on: Notes that a tie leads on from.
        off_beats: Moments between two beats at which something is struck.
        tuplets: Notes and rests in tuplets.
        shortest: How many of the shortest note value make a whole note.
        shortest_sign: The same of notes and rests.
    """

    ties: int
    tied_on: int
    off_beats: int
    tuplets: int
    shortest: Fraction
    shortest_sign: Fraction

    def harder_than(self, other: Burden) -> Iterator[str]:
        """Yield in words what is more here than in another measure."""
        words = ("ties", "ties", "off-beats", "tuplets", "short notes", "short rests")
        for name, word in zip(self.__slots__, words, strict=True):
            if getattr(self, name) > getattr(other, name):
                yield word


def burdens(part: Part, grid: Grid) -> list[Burden]:
    """Return the burden of each measure of a part; cue notes do not count."""
    beats = set(grid.slots(BEATS))
    return [
        _burden(measure, {time - bar.start for time in beats if bar.start <= time < bar.end})
        for measure, bar in zip(part.measures, grid.bars, strict=True)
    ]


def _burden(measure: Measure, beats: set[int]) -> Burden:
    timed = [event for event in measure.events if event.grace is None and not event.is_cue]
    notes = [note for event in timed for note in event.notes]
    return Burden(
        sum(note.tie_stop for note in notes),
        sum(note.tie_start for note in notes),
        len({event.onset for event in timed if event.is_struck} - beats),
        sum(event.value.is_tuplet for event in timed),
        _shortest([event for event in timed if event.notes]),
        _shortest([event for event in timed if not event.is_measure_rest]),
    )


def _shortest(events: list[Event]) -> Fraction:
    return max(
        (4 / event.value.quarters for event in events if event.value.quarters), default=Fraction(0)
    )
