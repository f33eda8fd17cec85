"""Rhythm of a part: note values, off-beats, ties, tuplets, and the plan of its measures."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from variants.score import Event, MeasureView, Part, Score, measures


@dataclass(frozen=True, slots=True)
class RhythmFacts:
    """Rhythm of one part; cue notes do not count.

    Args:
        values: Note values of what sounds, most frequent first, with their counts. A value is
            written as in `variants.music.NoteValue`.
        rests: Number of rests, whole-measure rests aside.
        off_beats: Moments at which something is struck between two beats.
        held_over: Those of them that go on sounding past the next beat: syncopations.
        moments: Moments at which something is struck.
        ties: Notes that are held over by a tie.
        ties_over_barline: Those of them that are held over a barline.
        tuplets: Tuplet ratios such as ``3:2`` with the number of their notes and rests.
        grace_notes: Number of grace notes.
    """

    values: tuple[tuple[str, int], ...]
    rests: int
    off_beats: int
    held_over: int
    moments: int
    ties: int
    ties_over_barline: int
    tuplets: tuple[tuple[str, int], ...]
    grace_notes: int


class _Count:
    """The counters that the pass over one part fills."""

    def __init__(self, ticks: int) -> None:
        self.ticks = ticks
        self.values: Counter[str] = Counter()
        self.tuplets: Counter[str] = Counter()
        self.rests = self.ties = self.ties_over = self.graces = 0
        # (measure index, tick): whether it stands off the beat, and is held past the next one.
        self.moments: dict[tuple[int, int], tuple[bool, bool]] = {}

    def event(self, view: MeasureView, event: Event) -> None:
        """Count one event."""
        if event.grace is not None:
            self.graces += not event.is_rest
            return
        if event.value.is_tuplet:
            self.tuplets[f"{event.value.actual}:{event.value.normal}"] += 1
        if event.is_rest:
            self.rests += not event.is_measure_rest
            return
        self.values[str(event.value)] += 1
        held = [note for note in event.notes if note.tie_stop]
        self.ties += len(held)
        self.ties_over += len(held) if event.onset == 0 else 0
        if event.is_struck:
            self._moment(view, event)

    def _moment(self, view: MeasureView, event: Event) -> None:
        start = Fraction(event.onset, self.ticks) + pickup_quarters(view, self.ticks)
        end = start + Fraction(event.duration, self.ticks)
        beat, last = view.metre.beat_at(start), view.metre.beat_at(end)
        off = beat.denominator != 1
        tied = any(note.tie_start for note in event.notes)
        over = off and (last > int(beat) + 1 or (tied and last >= int(beat) + 1))
        key = (view.index, event.onset)
        before = self.moments.get(key, (False, False))
        self.moments[key] = (off, over or before[1])


def rhythm_facts(score: Score, part: Part) -> RhythmFacts:
    """Return the rhythm of a part of a score."""
    count = _Count(score.ticks)
    for view, event in _played(part):
        count.event(view, event)
    return RhythmFacts(
        values=tuple(count.values.most_common()),
        rests=count.rests,
        off_beats=sum(off for off, _ in count.moments.values()),
        held_over=sum(over for _, over in count.moments.values()),
        moments=len(count.moments),
        ties=count.ties,
        ties_over_barline=count.ties_over,
        tuplets=tuple(sorted(count.tuplets.items())),
        grace_notes=count.graces,
    )


def _played(part: Part) -> Iterator[tuple[MeasureView, Event]]:
    for view in measures(part):
        for voice in view.measure.voices:
            for event in voice.events:
                if not event.is_cue:
                    yield view, event


def pickup_quarters(view: MeasureView, ticks: int) -> Fraction:
    """Return the quarters that are missing before a pick-up; 0 for any other measure."""
    length = Fraction(view.measure.length, ticks)
    full = view.metre.quarters
    if view.index == 0 and view.measure.is_implicit and length < full:
        return full - length
    return Fraction(0)
