"""Rhythm of a part: note values, off-beats, ties, tuplets, and the plan of its measures."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from variants.score import Event, MeasureView, Part, Score, events, measures


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

    def __init__(self) -> None:
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
        beat, last = view.beat(event.onset), view.beat(event.end)
        off = beat.denominator != 1
        tied = any(note.tie_start for note in event.notes)
        over = off and (last > int(beat) + 1 or (tied and last >= int(beat) + 1))
        key = (view.index, event.onset)
        before = self.moments.get(key, (False, False))
        self.moments[key] = (off, over or before[1])


def rhythm_facts(score: Score, part: Part) -> RhythmFacts:
    """Return the rhythm of a part of a score."""
    count = _Count()
    views = measures(part, score.ticks)
    for index, event in events(part):
        if not event.is_cue:
            count.event(views[index], event)
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
