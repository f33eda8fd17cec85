"""Views of a score along time: what is in force where, and what begins when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from variants.music import Key, Metre
from variants.score.model import Event, Measure, Note, Part, Score

NO_KEY = Key(0)
COMMON_TIME = Metre()
# Tempo supposed where a score gives none: the usual default of MIDI files.
DEFAULT_QUARTERS_PER_MINUTE = Fraction(120)


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
    """

    index: int
    measure: Measure
    start: int
    key: Key
    metre: Metre
    quarters_per_minute: Fraction


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
    semitones: tuple[int | Fraction, ...]


def measures(part: Part) -> Iterator[MeasureView]:
    """Yield every measure of a part with its key, metre, tempo and start.

    A key signature that is no place on the circle of fifths counts as none; with several
    staves the first one's key holds.
    """
    key, metre, tempo, start = NO_KEY, COMMON_TIME, DEFAULT_QUARTERS_PER_MINUTE, 0
    for index, measure in enumerate(part.measures):
        for change in measure.attributes:
            if change.onset == 0:
                key = change.keys[0].key or NO_KEY if change.keys else key
                metre = change.metre or metre
        for direction in measure.directions:
            if direction.onset == 0 and direction.quarters_per_minute:
                tempo = direction.quarters_per_minute
        yield MeasureView(index, measure, start, key, metre, tempo)
        for change in measure.attributes:
            if change.onset:
                key = change.keys[0].key or NO_KEY if change.keys else key
                metre = change.metre or metre
        for direction in measure.directions:
            tempo = direction.quarters_per_minute or tempo
        start += measure.length


def events(part: Part) -> Iterator[tuple[int, Event]]:
    """Yield (measure index, event) for every event, voice by voice."""
    for index, measure in enumerate(part.measures):
        for voice in measure.voices:
            for event in voice.events:
                yield index, event


def notes(part: Part) -> Iterator[Note]:
    """Yield every note of a part, tied and grace notes too."""
    for _, event in events(part):
        yield from event.notes


def onsets(part: Part) -> list[Onset]:
    """Return the onsets of a part in order of time, all voices together.

    Cue notes are not played and unpitched ones have no height; neither counts.
    """
    found: list[Onset] = []
    for index, measure in enumerate(part.measures):
        here: dict[tuple[int, int], list[int | Fraction]] = {}
        for voice in measure.voices:
            _gather(voice.events, here)
        found += [
            Onset(index, tick, grace, tuple(sorted(here[tick, grace])))
            for tick, grace in sorted(here)
        ]
    return found


def _gather(voice: tuple[Event, ...], here: dict[tuple[int, int], list[int | Fraction]]) -> None:
    waiting: list[list[int | Fraction]] = []
    for event in voice:
        if event.is_cue:
            continue
        heights = [
            note.pitch.semitones
            for note in event.notes
            if note.pitch is not None and not note.tie_stop
        ]
        if event.grace is not None:
            waiting.append(heights)
            continue
        _settle(waiting, event.onset, here)
        if heights:
            here.setdefault((event.onset, 0), []).extend(heights)
    if waiting:
        _settle(waiting, voice[-1].onset, here)


def _settle(
    waiting: list[list[int | Fraction]],
    onset: int,
    here: dict[tuple[int, int], list[int | Fraction]],
) -> None:
    for back, heights in enumerate(reversed(waiting), 1):
        if heights:
            here.setdefault((onset, -back), []).extend(heights)
    waiting.clear()


def key_at_start(part: Part) -> Key | None:
    """Return the first key signature of a part, ``None`` if it has none."""
    for measure in part.measures:
        for change in measure.attributes:
            for sign in change.keys:
                return sign.key
        if measure.voices:
            return None
    return None


def beat_text(view: MeasureView, tick: int, ticks: int) -> str:
    """Return the beat of a moment for people: ``2``, ``2.5``, ``3 1/3``.

    In a pick-up the beats count so that the measure ends with the last beat of its metre.
    """
    quarters = Fraction(tick, ticks)
    full = view.metre.quarters
    length = Fraction(view.measure.length, ticks)
    if view.measure.is_implicit and length < full and view.index == 0:
        quarters += full - length
    return beat_name(view.metre.beat_at(quarters))


def beat_name(beat: Fraction) -> str:
    """Return a beat for people.

    >>> beat_name(Fraction(2)), beat_name(Fraction(5, 2)), beat_name(Fraction(10, 3))
    ('2', '2.5', '3 1/3')
    """
    whole, rest = divmod(beat, 1)
    if not rest:
        return str(whole)
    if rest.denominator in (2, 4, 8):
        return f"{float(beat):g}"
    return f"{whole} {rest}"


def place_text(score: Score, part: Part, index: int, tick: int) -> str:
    """Return ``measure 3, beat 2`` for a moment of a part, named with its part if needed."""
    view = view_of(part, index)
    text = f"measure {view.measure.number}, beat {beat_text(view, tick, score.ticks)}"
    return f"part {part.name or part.id}, {text}" if len(score.parts) > 1 else text


def view_of(part: Part, index: int) -> MeasureView:
    """Return the view of one measure.

    Raises:
        IndexError: There is no such measure.
    """
    for view in measures(part):
        if view.index == index:
            return view
    raise IndexError(index)
