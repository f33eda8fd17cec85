"""Edits by hand in a written variant, taken over as pins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest
from typing import Any

from variants.errors import Refusal
from variants.marks.own import set_by_us
from variants.pins.context import PinContext
from variants.pins.model import Pin
from variants.score import Note, Part, Place, Score, Take, place_text, timeline


@dataclass(frozen=True, slots=True)
class NoteAsMade:
    """The place and the finger that neckwise gave a note."""

    place: Place | None
    finger: str


def taken_over(
    edited: Score, made: Score | None, *, piece: str = "", version: str = "all"
) -> tuple[Pin, ...]:
    """Return what differs in strings, frets and fingers as pins.

    Args:
        edited: The variant as somebody has changed it.
        made: The variant as it was written; ``None``: each note of the edited one tells what it
            was given.
        piece: Name of the song.
        version: Name of the variant.

    Raises:
        Refusal: The notes differ too, which no pin can hold.
    """
    pins: list[Pin] = []
    for index, part in enumerate(edited.parts):
        if part.instrument is None:
            continue
        before = None
        if made is not None:
            before = _part_of(made, part, index)
            _check_notes(made, before, edited, part)
        pins += _of_part(edited, part, before, {"piece": piece, "version": version})
    return tuple(pins)


def _part_of(made: Score, part: Part, index: int) -> Part:
    found = next((one for one in made.parts if one.id == part.id), None)
    if found is None and index < len(made.parts):
        found = made.parts[index]
    if found is None:
        raise Refusal(f"there was no part {part.id} in it", way_out="edit fingering alone")
    return found


def _check_notes(made: Score, before: Part, edited: Score, after: Part) -> None:
    for one, other in zip_longest(timeline(before).takes, timeline(after).takes):
        if one is None or other is None or _struck(one, made) != _struck(other, edited):
            take = one if other is None else other
            where = (made, before) if other is None else (edited, after)
            raise Refusal(
                "other notes than were written, and pins hold strings, frets and fingers only",
                place=place_text(*where, take.measure, take.tick),
                way_out="change notes in the source",
            )


def _struck(take: Take, score: Score) -> tuple[Fraction, int, int]:
    return Fraction(take.start, score.ticks), take.grace, take.pitch.midi


def _of_part(
    edited: Score, part: Part, before: Part | None, names: dict[str, str]
) -> Iterator[Pin]:
    context = PinContext(edited, part)
    old = timeline(before).takes if before is not None else ()
    was = {
        take.heads[0]: _note(before, other)
        for take, other in zip(timeline(part).takes, old, strict=False)
        if before is not None
    }
    for place, here in enumerate(context.moments):
        for take in here:
            now = _note(part, take)
            then = was.get(take.heads[0])
            given = NoteAsMade(then.place, then.finger) if then is not None else as_made(now)
            said = dict(_differences(given, now, is_alone=len(here) == 1))
            if said:
                told = {"note": str(take.pitch), **context.said(place), **names, **said}
                yield Pin.model_validate(told)


def _note(part: Part, take: Take) -> Note:
    measure, voice, event, head = take.heads[0]
    return part.measures[measure].voices[voice].events[event].notes[head]


def as_made(note: Note) -> NoteAsMade:
    """Return what we gave a note, by what it says itself; what it has now where it says nothing."""
    told = set_by_us(note)
    place = note.place
    if "place" in told:
        string, fret = told["place"].split("/")
        place = Place(int(string), int(fret))
    return NoteAsMade(place, told.get("fingering", note.finger))


def _differences(given: NoteAsMade, now: Note, *, is_alone: bool) -> Iterator[tuple[str, Any]]:
    """Yield what is other than it was given.

    A finger that was left beside a new place is meant, where it can stand there: of a note alone
    that is any but an open string's.
    """
    place, finger = now.place, now.finger
    is_moved = place is not None and place != given.place
    if place is not None and is_moved:
        yield from (("string", place.string), ("fret", place.fret))
    fits = place is not None and (finger == "0") == (place.fret == 0)
    if finger and (finger != given.finger or (is_moved and is_alone and fits)):
        yield "finger", finger if finger == "T" else int(finger)


def says_what_is_ours(parts: Sequence[Part]) -> bool:
    """Whether the notes of a file tell what we gave them."""
    return any(
        set_by_us(note)
        for part in parts
        for measure in part.measures
        for voice in measure.voices
        for event in voice.events
        for note in event.notes
    )
