"""What the search for a fit compares: each measure's rhythm, pitches and size, in one pass."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from variants.levels.level import BARRES, OFF_BEATS, TIES, WHOLE_BEATS, Level
from variants.levels.signs import ornament_kinds
from variants.score import (
    Event,
    EventView,
    MeasureView,
    NoteKey,
    Part,
    Score,
    measures,
    timeline,
)
from variants.score.timeline import tempo_marks

# Places in a measure are counted in so many parts of what its metre holds, so that values written
# twice as long stand where they stood. Divisible by all usual tuplets and metres.
MEASURE_PARTS = 10080 * 96


@dataclass(frozen=True, slots=True)
class ProfiledMoment:
    """What is struck together: place in the measure, length (in its parts), MIDI numbers."""

    place: int
    length: int
    midi: tuple[int, ...]
    grace: bool


@dataclass(frozen=True, slots=True)
class MeasureProfile:
    """One measure.

    Args:
        number: As printed.
        values: (name, whether it lasts whole beats) of note values, and of rests that count.
        tuplets: Ratios.
        ornaments: Kinds.
        off: Furthest from the beat, an index of `OFF_BEATS`.
        ties: Hardest tie, an index of `TIES`.
        at_once: Most notes struck together.
        quarters: Its length, 0 for a pick-up (whose rate says nothing).
        tempo: Quarters in a minute; ``None`` where the part has no mark.
        fifths: Its signature.
        altered: Notes outside the signature, on the line of fifths.
        heights: (MIDI number, how often).
        fine: Onsets that stand on no half, third or quarter of their beat.
        moments: What is struck.
    """

    number: str
    values: frozenset[tuple[str, bool]]
    tuplets: frozenset[str]
    ornaments: frozenset[str]
    off: int
    ties: int
    at_once: int
    quarters: Fraction
    tempo: float | None
    fifths: int
    altered: frozenset[int]
    heights: tuple[tuple[int, int], ...]
    fine: int
    moments: tuple[ProfiledMoment, ...]

    def fits(self, level: Level) -> bool:
        """Whether its rhythm and texture meet a level."""
        return not any(self.blocks(level))

    def blocks(self, level: Level) -> Iterable[str]:
        """Yield the limits of rhythm and texture that it breaks."""
        limits = level.limits
        if limits.notes_at_once is not None and self.at_once > limits.notes_at_once.value:
            yield "notes-at-once"
        if limits.note_values is not None:
            allowed = limits.note_values.value
            beats = WHOLE_BEATS in allowed
            if any(name not in allowed and not (beats and whole) for name, whole in self.values):
                yield "note-values"
        if limits.off_beats is not None and self.off > OFF_BEATS.index(limits.off_beats.value):
            yield "off-beats"
        if limits.ties is not None and self.ties > TIES.index(limits.ties.value):
            yield "ties"
        if limits.tuplets is not None and not self.tuplets <= set(limits.tuplets.value):
            yield "tuplets"
        if limits.ornaments is not None and not self.ornaments <= set(limits.ornaments.value):
            yield "ornaments"

    def rate(self, practice_tempo: float) -> float:
        """Return onsets in a second."""
        if not self.quarters:
            return 0.0
        seconds = float(self.quarters) * 60 / (self.tempo or practice_tempo)
        return len(self.moments) / seconds


@dataclass(frozen=True, slots=True)
class Profile:
    """A part: its measures, and whether the first is a pick-up."""

    measures: tuple[MeasureProfile, ...]
    has_pickup: bool

    @property
    def heights(self) -> Counter[int]:
        """How often each MIDI number is struck."""
        return heights_of(self.measures)


def heights_of(found: Iterable[MeasureProfile]) -> Counter[int]:
    """Return how often each MIDI number is struck in some measures."""
    counts: Counter[int] = Counter()
    for measure in found:
        for midi, count in measure.heights:
            counts[midi] += count
    return counts


def profile(score: Score, part: Part) -> Profile:
    """Return the profile of a part."""
    views = measures(part, score.ticks)
    sounding = timeline(part)
    marked = bool(tempo_marks(views))
    # For each tick at which a tied note is taken over, whether that note began on a beat.
    held: dict[int, bool] = {}
    found = []
    for view in views:
        reader = _Reader(view, sounding.ends, held)
        tempo = float(view.quarters_per_minute) if marked else None
        found.append(reader.profile(sounding.in_measures[view.index], tempo))
    return Profile(tuple(found), bool(views) and views[0].is_pickup)


class _Reader:
    """The pass over one measure."""

    def __init__(
        self, view: MeasureView, ends: Mapping[NoteKey, int], held: dict[int, bool]
    ) -> None:
        self.view, self.ticks, self.ends, self.held = view, view.ticks, ends, held
        self.beats = view.beats
        full = view.metre.quarters * view.ticks or view.measure.length
        self.full = int(full) if full == int(full) else full
        before = view.missing * view.ticks
        self.before = int(before) if before == int(before) else before
        self.even = len(set(view.metre.beat_lengths)) <= 1
        self.values: set[tuple[str, bool]] = set()
        self.tuplets: set[str] = set()
        self.ornaments: set[str] = set()
        self.struck: dict[tuple[int, int], list[tuple[int, int]]] = {}
        self.altered: set[int] = set()
        self.ties = 0

    def profile(self, events: tuple[EventView, ...], tempo: float | None) -> MeasureProfile:
        """Return what was found."""
        measure = self.view.measure
        for one in events:
            if not one.event.is_cue:
                self._event(one)
        moments = tuple(self._moments())
        heights = Counter(midi for moment in moments for midi in moment.midi)
        return MeasureProfile(
            number=measure.number,
            values=frozenset(self.values),
            tuplets=frozenset(self.tuplets),
            ornaments=frozenset(self.ornaments),
            off=self._furthest(),
            ties=self.ties,
            at_once=max((len(moment.midi) for moment in moments), default=0),
            quarters=Fraction(0) if self.view.is_pickup else self.view.quarters,
            tempo=tempo,
            fifths=self.view.key.fifths,
            altered=frozenset(self.altered),
            heights=tuple(sorted(heights.items())),
            fine=sum(map(self._is_fine, {onset for onset, grace in self.struck if not grace})),
            moments=moments,
        )

    def _event(self, one: EventView) -> None:
        event = one.event
        self.ornaments |= ornament_kinds(event)
        if any(note.tie_start for note in event.notes):
            self.held[one.end] = event.onset in self.beats
        if event.grace is None and not event.is_measure_rest:
            self._value(event)
        for index, note in enumerate(event.notes):
            if note.pitch is None:
                continue
            if note.tie_stop:
                self.ties = max(self.ties, self._tie(event))
                continue
            here = self.struck.setdefault((one.tick, one.grace), [])
            here.append((note.pitch.midi, self.ends[*one.key, index] - self.view.start))
            if not -1 <= note.pitch.fifths - self.view.key.fifths <= 5:
                self.altered.add(note.pitch.fifths)

    def _tie(self, event: Event) -> int:
        # From beat to beat where both of its notes begin on one.
        begun = self.held.get(self.view.start + event.onset)
        if begun and event.onset in self.beats:
            return 1
        return 3 if event.onset == 0 else 2

    def _value(self, event: Event) -> None:
        value = event.value
        if value.is_tuplet:
            self.tuplets.add(f"{value.actual}:{value.normal}")
        elif value.type and not (event.is_rest and self.view.metre.is_compound):
            lengths = self.view.metre.beat_lengths or (Fraction(1),)
            whole = event.duration % (lengths[0] * self.ticks) == 0 and event.duration >= self.ticks
            self.values.add((str(value), self.even and whole and event.onset in self.beats))

    def _place(self, tick: int) -> int:
        return int((tick + self.before) * MEASURE_PARTS // max(1, self.full))

    def _is_fine(self, tick: int) -> bool:
        index = max(0, bisect_right(self.beats, tick) - 1)
        start = self.beats[index]
        following = self.beats[index + 1] if index + 1 < len(self.beats) else start + self.ticks
        share = Fraction(tick - start) / (following - start)
        return not any((share * parts).denominator == 1 for parts in (2, 3, 4))

    def _moments(self) -> Iterable[ProfiledMoment]:
        for (onset, grace), notes in sorted(self.struck.items()):
            place = self._place(onset)
            end = max(until for _, until in notes)
            midi = tuple(sorted({number for number, _ in notes}))
            yield ProfiledMoment(place, max(0, self._place(end) - place), midi, grace < 0)

    def _furthest(self) -> int:
        furthest = 0
        for (onset, grace), notes in self.struck.items():
            if grace or onset in self.beats:
                continue
            index = max(0, bisect_right(self.beats, onset) - 1)
            beat = self.beats[index]
            following = self.beats[index + 1] if index + 1 < len(self.beats) else None
            if following is not None and any(until > following for _, until in notes):
                return 3
            furthest = max(furthest, 1 if (int(beat), 0) in self.struck else 2)
        return furthest


def hardest_barre(level: Level) -> int:
    """Return which barres a level allows, as an index of `BARRES`; all where it says nothing."""
    limit = level.limits.barres
    return len(BARRES) - 1 if limit is None else BARRES.index(limit.value)
