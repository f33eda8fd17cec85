"""What sounds of a score and when: one answer for the page, the MIDI file and audio.

A tab staff under notation is the same part, so it is never doubled. Tied notes are one note. Grace
notes sound before the beat, in time taken from what came before. Repeats, endings and jumps are
played out unless asked otherwise; cue notes and unpitched notes are silent.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate

from variants.score import Event, MeasureView, Note, Part, Score, Voice, measures
from variants.score.playing import playing
from variants.score.timeline import Clock

# A grace note is an eighth of a quarter long (common practice: as short as can be heard).
_GRACE = Fraction(1, 8)


@dataclass(frozen=True, slots=True)
class Sound:
    """A note as it sounds.

    Args:
        start: When it begins, in quarters from the beginning.
        length: How long it sounds, in quarters.
        midi: MIDI number.
        head: Measure, voice, event and note of its first note head, each from 0.
    """

    start: Fraction
    length: Fraction
    midi: int
    head: tuple[int, int, int, int]


def sounds(score: Score, part: Part, *, repeats: bool = True) -> list[Sound]:
    """Return what sounds of a part in order of time.

    Args:
        score: The score that the part is of.
        part: The part.
        repeats: Whether repeats, endings and jumps are played out.
    """
    found: list[Sound] = []
    held: dict[int, int] = {}
    start = Fraction(0)
    for index in order_of(score, part, repeats=repeats):
        measure = part.measures[index]
        for number, voice in enumerate(measure.voices):
            _voice(voice, (index, number), (start, score.ticks), found=found, held=held)
        start += Fraction(measure.length, score.ticks)
    return _one_each(sorted(found, key=lambda sound: (sound.start, sound.midi, sound.head)))


def order_of(score: Score, part: Part, *, repeats: bool = True) -> list[int]:
    """Return the indices of the measures of a part as they are played."""
    count = len(part.measures)
    return [i for i in playing(score).order if i < count] if repeats else list(range(count))


def _voice(
    voice: Voice,
    where: tuple[int, int],
    time: tuple[Fraction, int],
    *,
    found: list[Sound],
    held: dict[int, int],
) -> None:
    start, ticks = time
    waiting: list[tuple[int, Event]] = []
    for number, event in enumerate(voice.events):
        if event.is_cue:
            continue
        if event.grace is not None:
            waiting.append((number, event))
            continue
        at = start + Fraction(event.onset, ticks)
        length = Fraction(event.duration, ticks)
        room = min(_GRACE, at / len(waiting)) if waiting else _GRACE
        for back, (place, grace) in enumerate(reversed(waiting), 1):
            for index, note in enumerate(grace.notes):
                head = (*where, place, index)
                # At the very beginning there is no time before the beat.
                first = at - back * room if room else at
                _strike(note, first, room or _GRACE, head, found, held)
        waiting = []
        for index, note in enumerate(event.notes):
            _strike(note, at, length, (*where, number, index), found, held)


def _strike(
    note: Note,
    at: Fraction,
    length: Fraction,
    head: tuple[int, int, int, int],
    found: list[Sound],
    held: dict[int, int],
) -> None:
    """Add a note, or lengthen the one that a tie leads from."""
    if note.pitch is None:
        return
    midi = round(note.pitch.semitones)
    before = held.pop(midi, None)
    if note.tie_stop and before is not None:
        sound = found[before]
        if sound.start + sound.length == at:
            found[before] = Sound(sound.start, sound.length + length, midi, sound.head)
            if note.tie_start:
                held[midi] = before
            return
    if note.tie_start:
        held[midi] = len(found)
    found.append(Sound(at, length, midi, head))


def _one_each(ordered: list[Sound]) -> list[Sound]:
    """Return the sounds with each pitch struck once at a time, and ended before the next stroke."""
    merged: dict[tuple[Fraction, int], Sound] = {}
    for sound in ordered:
        known = merged.get((sound.start, sound.midi))
        if known is None or known.length < sound.length:
            head = sound.head if known is None else known.head
            merged[sound.start, sound.midi] = Sound(sound.start, sound.length, sound.midi, head)
    result = list(merged.values())
    following: dict[int, Fraction] = {}
    for index in range(len(result) - 1, -1, -1):
        sound = result[index]
        end = min(sound.start + sound.length, following.get(sound.midi, sound.start + sound.length))
        following[sound.midi] = sound.start
        result[index] = Sound(sound.start, end - sound.start, sound.midi, sound.head)
    return result


def inner_tempi(score: Score, index: int) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield (quarters from its start, quarters a minute) of each tempo given in a measure."""
    for part in score.parts:
        if index < len(part.measures):
            for direction in part.measures[index].directions:
                if direction.quarters_per_minute:
                    yield Fraction(direction.onset, score.ticks), direction.quarters_per_minute


def tempi_met(
    score: Score, views: tuple[MeasureView, ...], order: list[int]
) -> list[tuple[Fraction, Fraction]]:
    """Return (quarters from the beginning, quarters a minute) of each tempo as it is met.

    Args:
        score: The score.
        views: The measures of its first part.
        order: Indices of the measures as they are played.
    """
    starts = accumulate((views[index].quarters for index in order), initial=Fraction(0))
    found: dict[Fraction, Fraction] = {}
    for index, start in zip(order, starts, strict=False):
        found[start] = views[index].quarters_per_minute
        for at, tempo in inner_tempi(score, index):
            if at:
                found[start + at] = tempo
    return sorted(found.items())


def clock_of(score: Score, *, repeats: bool = True) -> Clock:
    """Return what turns quarters as they are played into seconds."""
    part = score.parts[0]
    order = order_of(score, part, repeats=repeats)
    tempi = tempi_met(score, measures(part, score.ticks), order)
    return Clock([(at, 60 / rate) for at, rate in tempi])
