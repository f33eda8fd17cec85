"""A part as it is written: each stroke with its notes, places, fingers and time.

What the independent check, the difficulty, the coverage and the lessons of a piece read.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction

from variants.guitar.neck import span_mm
from variants.music import Key, NoteValue, Pitch
from variants.score import Event, MeasureView, Note, Part, Place, Score, beat_text, measures
from variants.score.instrument import Instrument


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
class Stroke:
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
    stroke: Stroke


@dataclass(slots=True)
class Written:
    """A part as it is written; see `written_part`."""

    part_id: str
    ticks: int
    views: tuple[MeasureView, ...]
    instrument: Instrument | None
    numbers: list[str] = field(default_factory=list)
    keys: list[Key] = field(default_factory=list)
    strokes: list[Stroke] = field(default_factory=list)
    values: list[WrittenValue] = field(default_factory=list)
    # Where a tie ends, and its kind: an index of `variants.levels.level.TIES`.
    ties: list[tuple[Stroke, int]] = field(default_factory=list)
    ornamented: list[tuple[Event, Stroke]] = field(default_factory=list)
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

    def beat_text(self, stroke: Stroke) -> str:
        """Return the beat of a stroke for people."""
        return beat_text(self.views[stroke.measure], stroke.tick, self.ticks)

    def places(self, midi: int) -> tuple[Place, ...]:
        """Return every place of a pitch on the instrument."""
        return self.instrument.places(midi) if self.instrument else ()

    def between_mm(self, first: int, second: int) -> float:
        """Return the distance along the neck between two frets that count from the capo."""
        if self.instrument is None:
            return 0.0
        capo = self.instrument.capo
        return span_mm(first + capo, second + capo, scale_length_mm=self.instrument.scale_length_mm)

    def position(self, stroke: Stroke) -> int | None:
        """Return the fret of the first finger at a stroke; ``None`` where nothing is stopped."""
        stopped = [n.fret - n.finger + 1 for n in stroke.notes if n.fret and 1 <= n.finger <= 4]
        return max(1, min(stopped)) if stopped else None

    def held(self, stroke: Stroke) -> Iterator[WrittenNote]:
        """Yield the notes that sound at a stroke: those struck and those held."""
        yield from stroke.notes
        if not stroke.grace:
            yield from self.sounding.get(stroke.start, ())

    def off_beat(self, stroke: Stroke) -> int:
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
    views = tuple(measures(part))
    found = Written(part.id, score.ticks, views, part.instrument)
    clock = _Clock(score, part, Fraction(tempo).limit_denominator(1000))
    ends = _tie_ends(views)
    for view in views:
        found.numbers.append(view.measure.number)
        found.keys.append(view.key)
        _read_measure(found, view, clock, ends)
    found.strokes.sort(key=lambda one: (one.start, not one.grace))
    found.sounding = _sounding(found.strokes)
    if views and pickup(views[0], score.ticks):
        found.has_pickup = True
    found.beats = {
        (one.measure, one.beat)
        for one in found.strokes
        if one.beat.denominator == 1 and not one.grace
    }
    return found


def _sounding(strokes: list[Stroke]) -> dict[Fraction, tuple[WrittenNote, ...]]:
    """Return for each moment at which something is struck what goes on sounding from before."""
    found: dict[Fraction, tuple[WrittenNote, ...]] = {}
    alive: tuple[WrittenNote, ...] = ()
    for stroke in strokes:
        if not stroke.grace:
            alive = tuple(note for note in alive if note.end > stroke.start)
            found[stroke.start] = alive
            alive = (*stroke.notes, *alive)
    return found


def pickup(view: MeasureView, ticks: int) -> Fraction:
    """Return the quarters that are missing before a pick-up; 0 for any other measure."""
    length, full = Fraction(view.measure.length, ticks), view.metre.quarters
    if view.index == 0 and view.measure.is_implicit and length < full:
        return full - length
    return Fraction(0)


class _Clock:
    """Seconds from the start of a part, along its tempo marks."""

    def __init__(self, score: Score, part: Part, tempo: Fraction) -> None:
        self.ticks = score.ticks
        marks: list[tuple[int, Fraction]] = []
        start = 0
        for measure in part.measures:
            marks += [
                (start + one.onset, one.quarters_per_minute)
                for one in measure.directions
                if one.quarters_per_minute
            ]
            start += measure.length
        marks.sort(key=lambda mark: mark[0])
        if not marks or marks[0][0] > 0:
            marks.insert(0, (0, marks[0][1] if marks else tempo))
        self.at = [tick for tick, _ in marks]
        self.tempo = [rate for _, rate in marks]
        self.seconds = [Fraction(0)]
        for index in range(1, len(marks)):
            gap = Fraction(self.at[index] - self.at[index - 1], self.ticks)
            self.seconds.append(self.seconds[-1] + gap * 60 / self.tempo[index - 1])

    def __call__(self, tick: int) -> Fraction:
        index = max(0, bisect_right(self.at, tick) - 1)
        gap = Fraction(tick - self.at[index], self.ticks)
        return self.seconds[index] + gap * 60 / self.tempo[index]


def _tie_ends(views: tuple[MeasureView, ...]) -> dict[tuple[int, object], int]:
    """Return for each tied note that begins (start, pitch) the tick at which its chain ends."""
    heads: list[tuple[int, int, Note]] = [
        (view.start + event.onset, view.start + event.end, note)
        for view in views
        for voice in view.measure.voices
        for event in voice.events
        for note in event.notes
        if (note.tie_start or note.tie_stop) and note.pitch is not None
    ]
    ends: dict[tuple[int, object], int] = {}
    for start, end, note in sorted(heads, key=lambda one: (-one[0], one[1])):
        pitch = note.pitch.semitones if note.pitch else None
        last = ends.get((end, pitch), end) if note.tie_start else end
        ends[start, pitch] = last
    return ends


def _read_measure(
    found: Written, view: MeasureView, clock: _Clock, ends: dict[tuple[int, object], int]
) -> None:
    ticks = found.ticks
    missing = pickup(view, ticks)
    start = Fraction(view.start, ticks)
    _read_beats(found, view, start - missing)
    struck: dict[tuple[int, int], list[WrittenNote]] = {}
    here = _Here(found, view, clock, missing)
    for voice in view.measure.voices:
        graces = 0
        for event in voice.events:
            if event.is_cue:
                continue
            graces = graces + 1 if event.grace is not None else 0
            notes = [
                _note(one, view.start + event.onset, event, ends, ticks) for one in event.notes
            ]
            real = [one for one in notes if one is not None]
            if real:
                struck.setdefault((event.onset, -graces), []).extend(real)
            place = here.stroke(event.onset, event.grace is not None, real)
            _read_event(found, view, event, place)
    for (onset, grace), together in sorted(struck.items()):
        found.strokes.append(here.stroke(onset, grace < 0, together))
    seconds = float(clock(view.start + view.measure.length) - clock(view.start))
    count = len(struck)
    found.rates.append(count / seconds if seconds and not missing else 0.0)


@dataclass(frozen=True, slots=True)
class _Here:
    """Makes the strokes of one measure."""

    found: Written
    view: MeasureView
    clock: _Clock
    missing: Fraction

    def stroke(self, tick: int, is_grace: bool, notes: list[WrittenNote]) -> Stroke:  # noqa: FBT001
        quarters = Fraction(tick, self.found.ticks)
        return Stroke(
            measure=self.view.index,
            tick=tick,
            grace=is_grace,
            start=Fraction(self.view.start + tick, self.found.ticks),
            seconds=self.clock(self.view.start + tick),
            beat=self.view.metre.beat_at(quarters + self.missing),
            notes=tuple(sorted(notes, key=lambda one: one.pitch.semitones))
            if len(notes) > 1
            else tuple(notes),
        )


def _read_beats(found: Written, view: MeasureView, first: Fraction) -> None:
    length = Fraction(view.measure.length, found.ticks)
    end = Fraction(view.start, found.ticks) + length
    clock = first
    lengths = view.metre.beat_lengths or (Fraction(1),)
    index = 0
    while clock < end:
        found.beat_starts.append(clock)
        clock += lengths[min(index, len(lengths) - 1)]
        index += 1


def _note(
    note: Note, tick: int, event: Event, ends: dict[tuple[int, object], int], ticks: int
) -> WrittenNote | None:
    if note.pitch is None or note.tie_stop:
        return None
    end = ends.get((tick, note.pitch.semitones), tick + event.duration)
    place = note.place
    finger = int(note.finger) if note.finger.isdigit() else -1
    return WrittenNote(
        note.pitch,
        place.string if place else 0,
        place.fret if place else 0,
        finger,
        Fraction(max(end, tick + event.duration), ticks),
    )


def _tie_kind(found: Written, view: MeasureView, event: Event, place: Stroke) -> int:
    """Return how hard the tie is that ends at an event: 1 from beat to beat, 2 within, 3 over."""
    before = found.last_end.get(view.start + event.onset)
    if place.beat.denominator == 1 and before is not None and before.denominator == 1:
        return 1
    return 3 if event.onset == 0 else 2


def _read_event(found: Written, view: MeasureView, event: Event, place: Stroke) -> None:
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
