"""A part as it is written: each stroke with its notes, places, fingers and time.

What the independent check, the difficulty, the coverage and the lessons of a piece read.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from variants.guitar.neck import span_mm
from variants.music import Key, NoteValue, Pitch
from variants.score import (
    Event,
    EventView,
    MeasureView,
    Note,
    NoteKey,
    Part,
    Place,
    Score,
    measures,
    timeline,
)
from variants.score.instrument import Instrument
from variants.score.timeline import Clock, tempo_marks


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """One note that is struck; string 0: without a place; finger -1: without a finger.

    ``end`` is where it stops sounding, in quarters from the start of the part, ties included.
    """

    pitch: Pitch
    string: int
    fret: int
    finger: int
    end: Fraction


@dataclass(frozen=True, slots=True)
class WrittenStroke:
    """What is struck at one moment of a part.

    Args:
        measure: Index of the measure.
        tick: Ticks from its start.
        grace: Whether these are grace notes.
        start: Quarters from the start of the part.
        seconds: Seconds from the start of the part, repeats not played.
        beat: Beat in the measure, from 1; whole on a beat.
        notes: Its notes, the lowest first.
    """

    measure: int
    tick: int
    grace: bool
    start: Fraction
    seconds: Fraction
    beat: Fraction
    notes: tuple[WrittenNote, ...]


@dataclass(frozen=True, slots=True)
class WrittenValue:
    """A note value or rest at its place.

    Args:
        value: The value.
        is_rest: Whether it is a rest.
        is_whole_beats: It begins on a beat, lasts one or several of them, and at least a quarter.
        is_split_beat: The beat is dotted, so that one rest may take several signs.
        stroke: Its place; without notes for a rest.
    """

    value: NoteValue
    is_rest: bool
    is_whole_beats: bool
    is_split_beat: bool
    stroke: WrittenStroke


@dataclass(slots=True)
class Written:
    """A part as it is written; see `written_part`."""

    part_id: str
    ticks: int
    views: tuple[MeasureView, ...]
    instrument: Instrument | None
    numbers: list[str] = field(default_factory=list)
    keys: list[Key] = field(default_factory=list)
    strokes: list[WrittenStroke] = field(default_factory=list)
    values: list[WrittenValue] = field(default_factory=list)
    # Where a tie ends, and its kind: an index of `variants.levels.level.TIES`.
    ties: list[tuple[WrittenStroke, int]] = field(default_factory=list)
    ornamented: list[tuple[Event, WrittenStroke]] = field(default_factory=list)
    rates: list[float] = field(default_factory=list)
    has_pickup: bool = False
    # (measure, beat): whether something is struck there.
    beats: set[tuple[int, Fraction]] = field(default_factory=set)
    # For each measure, where its beats begin, in quarters from the start of the part.
    beat_starts: list[Fraction] = field(default_factory=list)
    # The beat on which the tied event began that ends at a tick of the part.
    last_end: dict[int, Fraction] = field(default_factory=dict)
    # What was struck before and goes on sounding where something new is struck, latest first.
    sounding: dict[Fraction, tuple[WrittenNote, ...]] = field(default_factory=dict)

    def beat_text(self, stroke: WrittenStroke) -> str:
        """Return the beat of a stroke for people."""
        return self.views[stroke.measure].beat_text(stroke.tick)

    def places(self, midi: int) -> tuple[Place, ...]:
        """Return every place of a pitch on the instrument."""
        return self.instrument.places(midi) if self.instrument else ()

    def between_mm(self, first: int, second: int) -> float:
        """Return the distance along the neck between two frets that count from the capo."""
        if self.instrument is None:
            return 0.0
        capo = self.instrument.capo
        return span_mm(first + capo, second + capo, scale_length_mm=self.instrument.scale_length_mm)

    def position(self, stroke: WrittenStroke) -> int | None:
        """Return the fret of the first finger at a stroke; ``None`` where nothing is stopped."""
        stopped = [n.fret - n.finger + 1 for n in stroke.notes if n.fret and 1 <= n.finger <= 4]
        return max(1, min(stopped)) if stopped else None

    def held(self, stroke: WrittenStroke) -> Iterator[WrittenNote]:
        """Yield the notes that sound at a stroke: those struck and those held."""
        yield from stroke.notes
        if not stroke.grace:
            yield from self.sounding.get(stroke.start, ())

    def off_beat(self, stroke: WrittenStroke) -> int:
        """Return 0 on a beat, 1 after a struck beat, 2 after another, 3 if held past the next."""
        if stroke.beat.denominator == 1:
            return 0
        after = bisect_right(self.beat_starts, stroke.start)
        following = self.beat_starts[after] if after < len(self.beat_starts) else None
        if following is not None and any(note.end > following for note in stroke.notes):
            return 3
        struck = (stroke.measure, Fraction(int(stroke.beat))) in self.beats
        return 1 if struck else 2


def written_part(score: Score, part: Part, *, tempo: float = 120.0) -> Written:
    """Return a part as it is written.

    Args:
        score: The score.
        part: One of its parts.
        tempo: Quarters in a minute where the part has no tempo mark.
    """
    views = measures(part, score.ticks)
    found = Written(part.id, score.ticks, views, part.instrument)
    clock = _clock(views, Fraction(tempo).limit_denominator(1000))
    sounding = timeline(part)
    for view in views:
        found.numbers.append(view.measure.number)
        found.keys.append(view.key)
        starts = [Fraction(view.start + at, score.ticks) for at in view.beats]
        found.beat_starts += [at for at in starts if at < starts[0] + view.missing + view.quarters]
        _read_measure(_Here(found, view, clock), sounding.in_measures[view.index], sounding.ends)
    found.strokes.sort(key=lambda one: (one.start, not one.grace))
    found.sounding = _sounding(found.strokes)
    found.has_pickup = bool(views) and views[0].is_pickup
    found.beats = {
        (one.measure, one.beat)
        for one in found.strokes
        if one.beat.denominator == 1 and not one.grace
    }
    return found


def _sounding(strokes: list[WrittenStroke]) -> dict[Fraction, tuple[WrittenNote, ...]]:
    """Return for each moment at which something is struck what goes on sounding from before."""
    found: dict[Fraction, tuple[WrittenNote, ...]] = {}
    alive: tuple[WrittenNote, ...] = ()
    for stroke in strokes:
        if not stroke.grace:
            alive = tuple(note for note in alive if note.end > stroke.start)
            found[stroke.start] = alive
            alive = (*stroke.notes, *alive)
    return found


def _clock(views: tuple[MeasureView, ...], tempo: Fraction) -> Clock:
    """Return the seconds along the tempo marks of a part; ``tempo`` where it has none."""
    marks = tempo_marks(views) or [(0, tempo)]
    ticks = views[0].ticks if views else 1
    return Clock(
        [(at if index else 0, 60 / rate / ticks) for index, (at, rate) in enumerate(marks)]
    )


def _read_measure(here: _Here, events: tuple[EventView, ...], ends: Mapping[NoteKey, int]) -> None:
    found, view = here.found, here.view
    struck: dict[tuple[int, int], list[WrittenNote]] = {}
    for one in events:
        event = one.event
        if event.is_cue:
            continue
        notes = [
            _note(note, note.pitch, Fraction(ends[*one.key, index], found.ticks))
            for index, note in enumerate(event.notes)
            if note.pitch is not None and not note.tie_stop
        ]
        if notes:
            struck.setdefault((one.tick, one.grace), []).extend(notes)
        _read_event(found, view, event, here.stroke(event.onset, event.grace is not None, notes))
    for (onset, grace), together in sorted(struck.items()):
        found.strokes.append(here.stroke(onset, grace < 0, together))
    seconds = float(here.clock.at(view.start + view.measure.length) - here.clock.at(view.start))
    found.rates.append(len(struck) / seconds if seconds and not view.is_pickup else 0.0)


@dataclass(frozen=True, slots=True)
class _Here:
    """Makes the strokes of one measure."""

    found: Written
    view: MeasureView
    clock: Clock

    def stroke(self, tick: int, is_grace: bool, notes: list[WrittenNote]) -> WrittenStroke:  # noqa: FBT001
        return WrittenStroke(
            measure=self.view.index,
            tick=tick,
            grace=is_grace,
            start=Fraction(self.view.start + tick, self.found.ticks),
            seconds=self.clock.at(self.view.start + tick),
            beat=self.view.beat(tick),
            notes=tuple(sorted(notes, key=lambda one: one.pitch.semitones))
            if len(notes) > 1
            else tuple(notes),
        )


def _note(note: Note, pitch: Pitch, end: Fraction) -> WrittenNote:
    place = note.place
    finger = int(note.finger) if note.finger.isdigit() else -1
    string, fret = (place.string, place.fret) if place else (0, 0)
    return WrittenNote(pitch, string, fret, finger, end)


def _tie_kind(found: Written, view: MeasureView, event: Event, place: WrittenStroke) -> int:
    """Return how hard the tie is that ends at an event: 1 from beat to beat, 2 within, 3 over."""
    before = found.last_end.get(view.start + event.onset)
    if place.beat.denominator == 1 and before is not None and before.denominator == 1:
        return 1
    return 3 if event.onset == 0 else 2


def _read_event(found: Written, view: MeasureView, event: Event, place: WrittenStroke) -> None:
    found.ornamented.append((event, place))
    if any(note.tie_start for note in event.notes):
        found.last_end[view.start + event.end] = place.beat
    if any(note.tie_stop for note in event.notes):
        found.ties.append((place, _tie_kind(found, view, event, place)))
    if event.grace is not None or event.is_measure_rest:
        return
    lengths = view.metre.beat_lengths or (Fraction(1),)
    beats = Fraction(event.duration, found.ticks) / lengths[0]
    found.values.append(
        WrittenValue(
            event.value,
            event.is_rest,
            place.beat.denominator == 1
            and beats.denominator == 1
            and len(set(lengths)) == 1
            and event.duration >= found.ticks,
            view.metre.is_compound,
            place,
        )
    )
