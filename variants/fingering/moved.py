"""A shape that moves along the neck keeps its strings and fingers; the rest is chosen anew.

A step that transposes takes places and fingers off. Where nothing is open, the hand plays the same
shape some frets higher or lower: a chord by itself, and a whole part in which no note is open.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from variants.score import (
    Change,
    Instrument,
    Measure,
    Note,
    NoteKey,
    Part,
    Place,
    Score,
    map_heads,
    measures,
    timeline,
    with_parts,
)

_CHORD = 2

# Place and finger of a note.
_Decision = tuple[Place | None, str]


def with_moved_shapes(before: Score, after: Score, semitones: int) -> Score:
    """Return the moved score with the shapes of the source that moved along with it.

    Args:
        before: The score with the places and fingers that were decided.
        after: The same score moved, as the steps left it.
        semitones: By how much.
    """
    parts = list(after.parts)
    for index, (old, new) in enumerate(zip(before.parts, after.parts, strict=False)):
        instrument = new.instrument
        if instrument is not None and instrument == old.instrument and _is_moved(old, new):
            parts[index] = _moved(old, new, instrument, semitones)
    return with_parts(after, parts)


def _is_moved(old: Part, new: Part) -> bool:
    """Whether one part has the notes of another at the same times."""
    times = [
        [(one.key, one.start, len(one.event.notes)) for one in timeline(part).events]
        for part in (old, new)
    ]
    return times[0] == times[1]


def _moved(old: Part, new: Part, instrument: Instrument, semitones: int) -> Part:
    chords: dict[NoteKey, Note] = {}
    whole: dict[NoteKey, Note] = {}
    is_closed = True
    for one in timeline(old).events:
        shifted = [_shifted(note, instrument, semitones) for note in one.event.notes]
        here = {(*one.key, head): note for head, note in enumerate(shifted) if note is not None}
        whole |= here
        if len(here) == len(shifted) >= _CHORD:
            chords |= here
        struck = [head for head, note in enumerate(one.event.notes) if not note.tie_stop]
        is_closed = is_closed and all(shifted[head] is not None for head in struck)
    shapes = whole if is_closed else chords
    return _with(new, shapes, semitones) if shapes else new


def _shifted(note: Note, instrument: Instrument, semitones: int) -> Note | None:
    """Return the note at its place so many frets on; ``None`` where it is open or off the neck."""
    place = note.place
    if place is None or not place.fret or note.pitch is None:
        return None
    moved = Place(place.string, place.fret + semitones)
    if not 0 < moved.fret <= instrument.frets - instrument.capo:
        return None
    if instrument.sounding(moved) != note.pitch.midi + semitones:
        return None
    return replace(note, place=moved)


def _with(part: Part, shapes: dict[NoteKey, Note], semitones: int) -> Part:
    """Return the part with these shapes on the notes that have none and are as far away."""

    def placed(note: Note, shape: Note | None) -> Note:
        if shape is None or note.place is not None or note.pitch is None or shape.pitch is None:
            return note
        if note.pitch.midi != shape.pitch.midi + semitones:
            return note
        return replace(note, place=shape.place, finger=shape.finger)

    return map_heads(part, lambda head, note: placed(note, shapes.get(head)))


def gone_with_steps(before: Score, after: Score) -> Iterator[Change]:
    """Yield a line for each measure in which steps took decided places or fingers off.

    Args:
        before: The score with the places and fingers that were decided.
        after: What the steps left, before it is fingered.
    """
    for old in before.parts:
        new = next((part for part in after.parts if part.id == old.id), None)
        if new is None or old.instrument is None:
            continue
        left: dict[str, list[_Decision]] = {}
        for measure in new.measures:
            left.setdefault(measure.number, []).extend(what for _, what in _decisions(measure))
        for view in measures(old, before.ticks):
            here = list(_decisions(view.measure))
            kept = left.get(view.measure.number)
            # Where the measure is gone as a whole, the step says so.
            if kept is None or len(kept) >= len(here):
                continue
            first = next((tick for tick, what in here if what not in kept), here[0][0])
            count = len(here) - len(kept)
            them, it = ("a note was", "it") if count == 1 else (f"{count} notes were", "them")
            yield Change(
                f"{them} fingered in the file, and the steps moved or changed {it}: chosen anew",
                "fingering",
                view.measure.number,
                view.beat_text(first),
                old.id,
            )


def _decisions(measure: Measure) -> Iterator[tuple[int, _Decision]]:
    """Yield moment, place and finger of each note of a measure that has one or the other."""
    for tick, event in sorted(
        ((event.onset, event) for event in measure.events),
        key=lambda pair: pair[0],
    ):
        for note in event.notes:
            if note.place is not None or note.finger:
                yield tick, (note.place, note.finger)
