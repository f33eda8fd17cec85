"""Scores as an independent reader sees them: music21, which shares no code with ours.

A score becomes a plain table of parts, measures and notes, from a file through music21 and from
our own `Score`; two tables are compared line by line.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from variants.music import Interval
from variants.music.pitch import LETTERS, NATURALS
from variants.score import Part, Score

# (offset in quarters, is grace, letter, alteration, octave, tie, length in quarters); the tie is
# "", "start", "stop" or "continue". An unpitched note has no letter.
Heard = tuple[Fraction, bool, str, Fraction, int, str, Fraction]


@dataclass(frozen=True, slots=True)
class HeardPart:
    """One part.

    Args:
        id: What the reader calls it.
        lengths: Length of each measure in quarters.
        measures: The notes of each measure, sorted.
    """

    id: str
    lengths: tuple[Fraction, ...]
    measures: tuple[tuple[Heard, ...], ...]


def heard_by_music21(source: Path | bytes, *, sounding: bool = False) -> list[HeardPart]:
    """Return the parts of a MusicXML file as music21 reads it; staves of a part together.

    Args:
        source: A file, or the text of one.
        sounding: Undo the transposition of transposing instruments.
    """
    from music21 import converter

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        if isinstance(source, Path):
            stream: Any = converter.parse(source, forceSource=True, storePickle=False)
        else:
            stream = converter.parseData(source.decode(), format="musicxml")
        if sounding:
            stream = stream.toSoundingPitch()
        grouped: list[list[Any]] = []
        for part in stream.parts:
            # A further staff of a part is a part of its own to music21, named "P1-Staff2".
            if "PartStaff" in part.classes and not str(part.id).endswith("-Staff1"):
                grouped[-1].append(part)
            else:
                grouped.append([part])
        return [_heard_part(staves) for staves in grouped]


def _heard_part(staves: list[Any]) -> HeardPart:
    columns = [list(staff.getElementsByClass("Measure")) for staff in staves]
    rows = list(zip(*columns, strict=True))
    return HeardPart(
        str(staves[0].id),
        tuple(max(map(_length, row)) for row in rows),
        tuple(tuple(sorted(note for one in row for note in _heard_notes(one))) for row in rows),
    )


def _length(measure: Any) -> Fraction:  # noqa: ANN401 - music21 is not typed
    """Return the end of the last note or rest.

    Words that stand past it do not count, nor do the hidden rests that music21 makes of each
    ``forward``.
    """
    ends = (
        _quarters(one.getOffsetInHierarchy(measure)) + _quarters(one.quarterLength)
        for one in measure.recurse().notesAndRests
        if not (one.isRest and one.style.hideObjectOnPrint)
    )
    return max(ends, default=Fraction(0))


def _heard_notes(measure: Any) -> Iterator[Heard]:  # noqa: ANN401 - music21 is not typed
    from music21 import harmony

    for element in measure.recurse().notes:
        if isinstance(element, harmony.Harmony):
            continue
        offset = _quarters(element.getOffsetInHierarchy(measure))
        grace = bool(element.duration.isGrace)
        length = Fraction(0) if grace else _quarters(element.quarterLength)
        for note in element.notes if hasattr(element, "notes") else (element,):
            tie = note.tie.type if note.tie is not None else ""
            pitch = getattr(note, "pitch", None)
            if pitch is None:
                yield offset, grace, "", Fraction(0), 0, tie, length
            else:
                alter = _quarters(pitch.alter)
                yield offset, grace, pitch.step, alter, pitch.octave, tie, length


def _quarters(value: float | Fraction) -> Fraction:
    # music21 holds binary floats and snaps tuplets to fractions of denominators up to 65535.
    return Fraction(value).limit_denominator(65535)


def heard_in_score(score: Score) -> list[HeardPart]:
    """Return the parts of our own score in the same form; cue notes are heard as music21 does."""
    return [_score_part(part, score.ticks) for part in score.parts]


def _score_part(part: Part, ticks: int) -> HeardPart:
    lengths, rows = [], []
    for measure in part.measures:
        lengths.append(Fraction(measure.length, ticks))
        found: list[Heard] = []
        for voice in measure.voices:
            for event in voice.events:
                offset = Fraction(event.onset, ticks)
                length = Fraction(event.duration, ticks)
                grace = event.grace is not None
                for note in event.notes:
                    tie = _TIES[note.tie_stop, note.tie_start]
                    pitch = note.pitch
                    if pitch is None:
                        found.append((offset, grace, "", Fraction(0), 0, tie, length))
                        continue
                    alter = Fraction(pitch.alter)
                    found.append((offset, grace, pitch.letter, alter, pitch.octave, tie, length))
        rows.append(tuple(sorted(found)))
    return HeardPart(part.id, tuple(lengths), tuple(rows))


_TIES = {
    (False, False): "",
    (False, True): "start",
    (True, False): "stop",
    (True, True): "continue",
}


def difference(one: HeardPart, other: HeardPart, *, octaves: int = 0) -> str:
    """Return the first difference between two parts in a few words; empty if there is none.

    Args:
        one: A part.
        other: The part that should be the same.
        octaves: How many octaves the second sounds above the first.
    """
    if len(one.measures) != len(other.measures):
        return f"{len(one.measures)} measures became {len(other.measures)}"
    for index, (before, after) in enumerate(zip(one.lengths, other.lengths, strict=True), 1):
        # A silent measure has no length or a whole one to music21, as it was filled.
        silent = not one.measures[index - 1] and not other.measures[index - 1]
        if before != after and not (silent and 0 in (before, after)):
            return f"measure {index} of {before} quarters became {after}"
    for index, (row, new) in enumerate(zip(one.measures, other.measures, strict=True), 1):
        moved = tuple((o, g, s, a, n + octaves * bool(s), t, d) for o, g, s, a, n, t, d in row)
        if moved != new:
            lost = [note for note in moved if note not in new]
            found = [note for note in new if note not in moved]
            return f"measure {index}: {_told(lost)} became {_told(found)}"
    return ""


def _told(notes: list[Heard]) -> str:
    return ", ".join(
        f"{step}{alter or ''}{octave} {tie} at {offset} for {length}"
        for offset, _, step, alter, octave, tie, length in notes[:2]
    )


@cache
def _music21_interval(interval: Interval) -> Any:  # noqa: ANN401 - music21 is not typed
    from music21 import interval as library

    return library.Interval(
        diatonic=library.DiatonicInterval(*_diatonic(interval)),
        chromatic=library.ChromaticInterval(interval.semitones),
    )


def _diatonic(interval: Interval) -> tuple[str, int]:
    # An augmented unison downward has no steps; music21 tells its direction by the semitones.
    number = interval.steps + 1 if interval.steps >= 0 else interval.steps - 1
    if interval.steps == 0 and interval.semitones < 0:
        number = -1
    return interval.name.rstrip("0123456789"), number


@cache
def transposed(name: tuple[str, Fraction, int], interval: Interval) -> tuple[str, Fraction, int]:
    """Return a note moved by music21, as (letter, alteration, octave)."""
    from music21 import pitch as library

    step, alter, octave = name
    source = library.Pitch(step=step, octave=octave)
    if alter:
        source.accidental = library.Accidental(float(alter))
    moved = source.transpose(_music21_interval(interval))
    return moved.step, Fraction(moved.alter).limit_denominator(64), moved.octave


def height(name: tuple[str, Fraction, int]) -> Fraction:
    """Return the height of a name on the MIDI scale."""
    step, alter, octave = name
    return 12 * (octave + 1) + NATURALS[LETTERS.index(step)] + alter
