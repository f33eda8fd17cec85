"""The time of a part: measures, beats, moments, what is struck and how long it is held.

Everything is computed once and kept with the part, which never changes: ask for it by type,
``part.kept(Timeline)``, or by the functions below. Nobody else counts.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, lru_cache
from itertools import accumulate

from variants.music import Key, Metre, Pitch
from variants.music.pitch import Alteration
from variants.score.model import Event, EventKey, Measure, Note, NoteKey, Part, Score
from variants.score.quick import quick

NO_KEY = Key(0)
COMMON_TIME = Metre()
# Tempo supposed where a score gives none: the usual default of MIDI files.
DEFAULT_QUARTERS_PER_MINUTE = Fraction(120)
# Techniques that join a note to the one before it on the same string.
_JOINED_FROM = frozenset({"hammer-on", "pull-off", "slide", "glissando"})

# Measure index, tick from its start, grace: 0, or -n ... -1 for the grace notes before it.
Moment = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class MeasureView:
    """A measure with what is in force at its start.

    Args:
        index: Place in the part, from 0.
        measure: The measure.
        start: Ticks from the start of the part.
        key: Key in force at its first moment.
        metre: Metre in force.
        quarters_per_minute: Tempo in force.
        ticks: Ticks in a quarter.
        missing: Quarters of its metre that are missing before it; see `missing_before`.
    """

    index: int
    measure: Measure
    start: int
    key: Key
    metre: Metre
    quarters_per_minute: Fraction
    ticks: int
    missing: Fraction

    @property
    def shift(self) -> int:
        """The missing time in whole ticks."""
        return int(self.missing * self.ticks)

    @property
    def quarters(self) -> Fraction:
        """How long it lasts."""
        return Fraction(self.measure.length, self.ticks)

    @property
    def is_pickup(self) -> bool:
        """Whether it is a first measure whose beginning is missing."""
        return self.index == 0 and self.missing > 0

    @property
    def beats(self) -> tuple[int | Fraction, ...]:
        """Ticks at which its beats begin: from below 0 in a pick-up to one at or past its end."""
        return _beats(self.metre, self.missing, self.measure.length, self.ticks)

    def beat(self, tick: int) -> Fraction:
        """Return the beat of a tick: 1 at the start of a full measure, whole on a beat."""
        return self.metre.beat_at(Fraction(tick, self.ticks) + self.missing)

    def beat_text(self, tick: int) -> str:
        """Return the beat of a tick for people: ``2``, ``2.5``, ``3 1/3``, ``2 &``."""
        return self.metre.beat_name(Fraction(tick, self.ticks) + self.missing)


@quick
@dataclass(frozen=True, slots=True)
class EventView:
    """An event at its place in time.

    Args:
        key: Where it stands.
        event: The event.
        voice: Name of its voice.
        start: Ticks from the start of the part.
        tick: Ticks from the start of the measure; of a grace note, those of what it leans on.
        grace: 0, or -n ... -1 for the grace notes before a moment; 0 for cue notes.
    """

    key: EventKey
    event: Event
    voice: str
    start: int
    tick: int
    grace: int

    @property
    def moment(self) -> Moment:
        """The moment at which it begins."""
        return self.key[0], self.tick, self.grace

    @property
    def end(self) -> int:
        """Ticks from the start of the part at which it is over."""
        return self.start + self.event.duration


@dataclass(frozen=True, slots=True)
class Struck:
    """A pitched note that begins at a moment."""

    key: NoteKey
    pitch: Pitch


@dataclass(frozen=True, slots=True)
class Take:
    """One note from where it begins to where its last tied note ends.

    Args:
        pitch: Sounding pitch.
        start: Ticks from the start of the part.
        end: See ``start``; the same as ``start`` for a grace note.
        grace: 0, or -n ... -1 for the grace notes before a moment.
        measure: Index of the measure in which it begins.
        tick: Ticks from the start of that measure.
        heads: The note heads that are written for it, in order of time.
        voice: The voice in which it begins.
        is_joined: It is reached by a hammer-on, a pull-off or a slide.
    """

    pitch: Pitch
    start: int
    end: int
    grace: int
    measure: int
    tick: int
    heads: tuple[NoteKey, ...]
    voice: str = ""
    is_joined: bool = False

    @property
    def moment(self) -> tuple[int, int]:
        """What orders takes in time."""
        return self.start, self.grace


@dataclass(frozen=True, slots=True)
class Onset:
    """What begins together in a part; tied-over notes are not in it.

    Args:
        measure: Index of the measure, from 0.
        tick: Ticks from the start of the measure.
        grace: 0 for ordinary notes; grace notes before them count -n ... -1.
        semitones: Heights of the notes on the MIDI scale, ascending.
    """

    measure: int
    tick: int
    grace: int
    semitones: tuple[Alteration, ...]


class Timeline:
    """What sounds in one part; each of its views is made when it is first asked for."""

    def __init__(self, part: Part) -> None:
        self.part = part

    @cached_property
    def starts(self) -> tuple[int, ...]:
        """Ticks from the start of the part at which each measure begins."""
        return (0, *accumulate(measure.length for measure in self.part.measures))[:-1]

    @cached_property
    def events(self) -> tuple[EventView, ...]:
        """Every event, measure by measure and voice by voice as they are written."""
        found: list[EventView] = []
        for index, (start, measure) in enumerate(zip(self.starts, self.part.measures, strict=True)):
            for number, voice in enumerate(measure.voices):
                places = {place: moment for moment, place in moments(voice.events)}
                for place, event in enumerate(voice.events):
                    tick, grace = places.get(place, (event.onset, 0))
                    key = (index, number, place)
                    found.append(EventView(key, event, voice.id, start + event.onset, tick, grace))
        return tuple(found)

    @cached_property
    def in_measures(self) -> tuple[tuple[EventView, ...], ...]:
        """The events of each measure."""
        found: list[list[EventView]] = [[] for _ in self.part.measures]
        for one in self.events:
            found[one.key[0]].append(one)
        return tuple(map(tuple, found))

    @cached_property
    def by_key(self) -> dict[EventKey, Event]:
        """Every event by where it stands."""
        return {one.key: one.event for one in self.events}

    @cached_property
    def struck(self) -> dict[Moment, list[Struck]]:
        """What begins together, in order of time; cue notes are not played."""
        found: dict[Moment, list[Struck]] = {}
        for one in self.events:
            if one.event.is_cue:
                continue
            for index, note in enumerate(one.event.notes):
                if note.pitch is not None and not note.tie_stop:
                    found.setdefault(one.moment, []).append(Struck((*one.key, index), note.pitch))
        return dict(sorted(found.items()))

    @cached_property
    def onsets(self) -> list[list[Pitch]]:
        """The pitches of what begins together, in order of time."""
        return [[one.pitch for one in here] for here in self.struck.values()]

    @cached_property
    def ties(self) -> dict[NoteKey, NoteKey]:
        """For each note that is tied to, the note that is tied from; in order of time."""
        tied: list[tuple[int, int, NoteKey, Note]] = [
            (one.start, one.end, (*one.key, index), note)
            for one in self.events
            for index, note in enumerate(one.event.notes)
            if note.tie_start or note.tie_stop
        ]
        links: dict[NoteKey, NoteKey] = {}
        waiting: dict[tuple[int, Alteration], list[NoteKey]] = {}
        for begin, end, key, note in sorted(tied, key=lambda one: one[:3]):
            if note.pitch is None:
                continue
            height = note.pitch.semitones
            begun = waiting.get((begin, height))
            if note.tie_stop and begun:
                # A tie within the voice comes before one from another voice.
                same = [one for one in begun if one[1] == key[1]]
                links[key] = same[-1] if same else begun[-1]
                begun.remove(links[key])
            if note.tie_start:
                waiting.setdefault((end, height), []).append(key)
        return links

    @cached_property
    def chains(self) -> dict[NoteKey, tuple[NoteKey, ...]]:
        """For each note that others are tied to and that is tied to none, all of them in order."""
        heads: dict[NoteKey, list[NoteKey]] = {}
        first_of: dict[NoteKey, NoteKey] = {}
        for stop, origin in self.ties.items():
            first_of[stop] = first_of.get(origin, origin)
            heads.setdefault(first_of[stop], [first_of[stop]]).append(stop)
        return {first: tuple(chain) for first, chain in heads.items()}

    @cached_property
    def takes(self) -> tuple[Take, ...]:
        """The pitched notes with all that is tied to them, in order of time; no cue notes.

        A note that is tied to from nothing, as in a second ending, is one from there on.
        """
        ends = {one.key: one.end for one in self.events}
        found = []
        for one in self.events:
            for index, note in enumerate(one.event.notes):
                key = (*one.key, index)
                if note.pitch is None or one.event.is_cue or key in self.ties:
                    continue
                chain = self.chains.get(key, (key,))
                end = max(one.start, ends[chain[-1][:3]])
                grace = 0 if note.tie_stop else one.grace
                found.append(
                    Take(note.pitch, one.start, end, grace, key[0], one.event.onset, chain,
                         one.voice, is_joined(one.event))
                )  # fmt: skip
        return tuple(
            sorted(found, key=lambda take: (*take.moment, take.pitch.semitones, take.heads))
        )

    @cached_property
    def ends(self) -> dict[NoteKey, int]:
        """For each note as it begins, the ticks from the start of the part at which it is over."""
        return {take.heads[0]: take.end for take in self.takes}


class Clock:
    """Turns times into seconds.

    Args:
        tempi: (time, seconds that one unit of time lasts from there on), in order of time.
    """

    def __init__(self, tempi: Sequence[tuple[int | Fraction, Fraction]]) -> None:
        self.starts = [at for at, _ in tempi]
        self.rates = [rate for _, rate in tempi]
        self.seconds = [Fraction(0)]
        for index in range(1, len(tempi)):
            lasted = (self.starts[index] - self.starts[index - 1]) * self.rates[index - 1]
            self.seconds.append(self.seconds[-1] + lasted)

    def at(self, time: int | Fraction) -> Fraction:
        """Return the seconds of a time."""
        index = max(0, bisect_right(self.starts, time) - 1)
        return self.seconds[index] + (time - self.starts[index]) * self.rates[index]


_NOTHING = Fraction(0)


@lru_cache(maxsize=256)
def _full(metre: Metre, ticks: int) -> int | Fraction:
    full = metre.quarters * ticks
    return int(full) if full.denominator == 1 else full


@lru_cache(maxsize=1024)
def _beats(metre: Metre, missing: Fraction, length: int, ticks: int) -> tuple[int | Fraction, ...]:
    lengths = metre.beat_lengths or (Fraction(1),)
    at, index = -missing * ticks, 0
    found = [at]
    while at < length:
        at += lengths[min(index, len(lengths) - 1)] * ticks
        index += 1
        found.append(at)
    # Whole numbers are far quicker, and all but odd metres have them.
    if all(one.denominator == 1 for one in found):
        return tuple(map(int, found))
    return tuple(found)


def missing_before(
    measures: Sequence[tuple[int, int | Fraction, bool]],
) -> list[Fraction]:
    """Return, for each measure of a part, the time of its metre that is missing before it.

    The missing time of a pick-up is at its start: a single eighth in 4/4 is the "&" of 4
    (nathanmuehl.com, ob1.21). So it is in a first measure that is short and has others after it,
    marked as a pick-up or not. The second half of a measure that a repeat splits goes on where the
    first half ended; the first half, and the last measure, which makes up for the pick-up, begin
    on 1 (common practice).

    Args:
        measures: Length, length of a full one (0: no metre) and whether it is not counted.

    Returns:
        In the same unit as the lengths.
    """
    found: list[Fraction] = []
    over: int | Fraction = 0  # How far the metre of the measure before is over, if not all of it.
    for index, (length, full, is_implicit) in enumerate(measures):
        missing: int | Fraction = 0
        is_first = index == 0 and len(measures) > 1
        if length < full and (is_implicit or is_first):
            if is_implicit and over and over + length <= full:
                missing = over
            elif index == 0 or not _begins_on_one(measures[index + 1 : index + 2], length, full):
                missing = full - length
        over = missing + length if missing + length < full else 0
        found.append(Fraction(missing))
    return found


def _begins_on_one(
    following: Sequence[tuple[int, int | Fraction, bool]], length: int, full: int | Fraction
) -> bool:
    """Whether a short measure that is not counted is the last one, or the first of two halves."""
    return all(other and length + more <= full for more, _, other in following)


def moments(events: tuple[Event, ...]) -> list[tuple[tuple[int, int], int]]:
    """Return tick and grace number of each event of a voice that is played, with its index.

    Grace notes count -n ... -1 before what they lean on; cue notes are left out.
    """
    found: list[tuple[tuple[int, int], int]] = []
    waiting: list[int] = []
    for index, event in enumerate(events):
        if event.is_cue:
            continue
        if event.grace is not None:
            waiting.append(index)
            continue
        if waiting:
            found += _graces(waiting, event.onset)
            waiting = []
        found.append(((event.onset, 0), index))
    return found + (_graces(waiting, events[-1].onset) if waiting else [])


def _graces(waiting: list[int], onset: int) -> list[tuple[tuple[int, int], int]]:
    count = len(waiting)
    return [((onset, back - count), index) for back, index in enumerate(waiting)]


def is_joined(event: Event) -> bool:
    """Whether a technique joins an event to the one before it on the same string."""
    return any(
        mark.name in _JOINED_FROM and mark.role == "stop"
        for note in event.notes
        for mark in note.marks
    )


def timeline(part: Part) -> Timeline:
    """Return what sounds in a part, as it is kept with it."""
    return part.kept(Timeline)


def measures(part: Part, ticks: int) -> tuple[MeasureView, ...]:
    """Return every measure with its key, metre, tempo, start and what is missing before it.

    A key signature that is no place on the circle of fifths counts as none; with several staves
    the first one's key holds. Before the first tempo mark its tempo holds too.
    """
    return part.kept(_measures, ticks)


def _measures(part: Part, ticks: int) -> tuple[MeasureView, ...]:
    marks = (one.quarters_per_minute for m in part.measures for one in m.directions)
    tempo = next(filter(None, marks), DEFAULT_QUARTERS_PER_MINUTE)
    found: list[tuple[int, Measure, int, Key, Metre, Fraction]] = []
    key, metre, start = NO_KEY, COMMON_TIME, 0
    for index, measure in enumerate(part.measures):
        for change in measure.attributes:
            if change.onset == 0:
                key = change.keys[0].key or NO_KEY if change.keys else key
                metre = change.metre or metre
        for direction in measure.directions:
            if direction.onset == 0 and direction.quarters_per_minute:
                tempo = direction.quarters_per_minute
        found.append((index, measure, start, key, metre, tempo))
        for change in measure.attributes:
            if change.onset:
                key = change.keys[0].key or NO_KEY if change.keys else key
                metre = change.metre or metre
        for direction in measure.directions:
            tempo = direction.quarters_per_minute or tempo
        start += measure.length
    lengths = [
        (measure.length, _full(metre, ticks), measure.is_implicit)
        for _, measure, _, _, metre, _ in found
    ]
    return tuple(
        MeasureView(*one, ticks, missing / ticks if missing else _NOTHING)
        for one, missing in zip(found, missing_before(lengths), strict=True)
    )


def events(part: Part) -> Iterator[tuple[int, Event]]:
    """Yield (measure index, event) for every event, voice by voice."""
    for index, measure in enumerate(part.measures):
        for event in measure.events:
            yield index, event


def notes(part: Part) -> Iterator[Note]:
    """Yield every note of a part, tied and grace notes too."""
    for _, event in events(part):
        yield from event.notes


def onsets(part: Part) -> list[Onset]:
    """Return the onsets of a part in order of time, all voices together.

    Cue notes are not played and unpitched ones have no height; neither counts.
    """
    return [
        Onset(*moment, tuple(sorted(one.pitch.semitones for one in here)))
        for moment, here in timeline(part).struck.items()
    ]


def tempo_marks(measures: Iterable[MeasureView]) -> list[tuple[int, Fraction]]:
    """Return (ticks from the start of the part, quarters a minute) of every tempo mark."""
    return sorted(
        (view.start + one.onset, one.quarters_per_minute)
        for view in measures
        for one in view.measure.directions
        if one.quarters_per_minute
    )


def key_at_start(part: Part) -> Key | None:
    """Return the first key signature of a part, ``None`` if it has none."""
    for measure in part.measures:
        for change in measure.attributes:
            for sign in change.keys:
                return sign.key
        if measure.voices:
            return None
    return None


def place_text(score: Score, part: Part, index: int, tick: int) -> str:
    """Return ``measure 3, beat 2`` for a moment of a part, named with its part if needed.

    Raises:
        IndexError: There is no such measure.
    """
    view = measures(part, score.ticks)[index]
    text = f"measure {view.measure.number}, beat {view.beat_text(tick)}"
    return f"part {part.name or part.id}, {text}" if len(score.parts) > 1 else text
