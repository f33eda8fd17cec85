"""The same tables as `tests.oracles.sounding`, from our own model, field by field."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction

from tests.oracles.sounding import Heard
from variants.score import Event, Note, Part, Score


def modelled_parts(score: Score) -> list[Heard]:
    """Return what the parts of a score sound and say."""
    return [_part(part, score.ticks) for part in score.parts]


def _part(part: Part, ticks: int) -> Heard:
    heard = Heard()
    for measure in part.measures:
        row: Counter[tuple[Fraction, Fraction, Fraction, bool]] = Counter()
        for voice in measure.voices:
            for event in voice.events:
                heard.said.update(_said(event))
                times = Fraction(event.onset, ticks), Fraction(event.duration, ticks)
                for note in event.notes:
                    if note.pitch is not None:
                        height = Fraction(note.pitch.semitones)
                        row[*times, height, event.grace is not None] += 1
        heard.measures.append(row)
    return heard


def _said(event: Event) -> Iterator[tuple[str, str]]:
    count = max(1, len(event.notes))
    yield from [("grace", "")] * (count * (event.grace is not None))
    yield from [("cue", "")] * (count * event.is_cue)
    yield from [("kind", "note" if event.notes else "rest")] * count
    for lyric in event.lyrics:
        yield "verse", lyric.number
        yield "text", lyric.text
        if lyric.syllabic:
            yield "syllabic", lyric.syllabic
    value = event.value
    yield "type", value.type
    yield "dots", str(value.dots)
    if (value.actual, value.normal) != (1, 1):
        yield "tuplet", f"{value.actual}:{value.normal}"
    for beam in event.beams:
        yield "beam", beam
    if event.notes:
        yield "stem", event.stem
    for note in event.notes:
        yield from _said_of_note(note)


def _said_of_note(note: Note) -> Iterator[tuple[str, str]]:
    if note.finger:
        yield "finger", note.finger
    if note.pluck:
        yield "pluck", note.pluck
    if note.place is not None:
        yield "place", f"{note.place.string}:{note.place.fret}"
    for is_there, name in ((note.tie_start, "start"), (note.tie_stop, "stop")):
        if is_there:
            yield "tie", name
    if note.accidental:
        yield "accidental", ""
