"""Fretting fingers: printed as the fingering engine set them, or taken off.

A chord that is struck again needs its fingers once: they stand where the grip changes (common
practice), so that a page of strumming is not a wall of figures.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from variants.marks.marking import Choice, MarkJob
from variants.marks.own import PLACE, may_own, own_signs, with_own, without_text
from variants.score import Event, Note, NoteKey, Part, Place, map_heads, map_notes, timeline

FINGERING = "fingering"
CHOICES = (
    Choice("open", ("all", "no-open"), "whether open strings are marked 0"),
    Choice("where", ("changes", "each"), "a chord's fingers where its grip changes, or always"),
)
_LEAST_NOTES = 2

# Place and finger of each note of a chord.
_Grip = set[tuple[Place, str]]


def put_fingering(job: MarkJob) -> Part:
    """Return the part with the fingers that it has, open strings and repeats as chosen.

    The source's own fingers stand as they are.
    """
    part = job.part
    if job.chosen.get("where") != "each":
        part = _without(part, set(_repeated(part)))
    if job.chosen.get("open") == "no-open":
        part = map_notes(part, lambda note: _bare(note) if note.finger == "0" else note)
    return part


def _bare(note: Note) -> Note:
    own = own_signs(note)
    if FINGERING not in own:
        return note
    return with_own(replace(note, finger=""), own - {FINGERING})


def _without(part: Part, heads: Collection[NoteKey]) -> Part:
    """Return the part without our fingers at some of its notes."""
    if not heads:
        return part
    return map_heads(part, lambda head, note: _bare(note) if head in heads else note)


def _repeated(part: Part) -> Iterator[NoteKey]:
    """Yield the notes of chords that are held as the last chord was, all of it or a part."""
    held: _Grip = set()
    sounding = timeline(part)
    for together in sounding.struck.values():
        struck = [(one.key, sounding.by_key[one.key[:3]].notes[one.key[3]]) for one in together]
        placed = all(note.place is not None for _, note in struck)
        grip = {(note.place, note.finger) for _, note in struck if note.place is not None}
        if not placed or not grip <= held:
            held = grip if placed else set()
        elif len(grip) >= _LEAST_NOTES and all(FINGERING in own_signs(n) for _, n in struck):
            yield from (head for head, _ in struck)


def without_fingering(part: Part) -> Part:
    """Return the part without the fingers that we set."""
    return without_text(part, FINGERING, lambda note: replace(note, finger=""))


def claimed(before: Part, after: Part) -> Part:
    """Return a fingered part whose notes say which of their places and fingers are ours.

    Args:
        before: The part as it was, with the source's fingers and earlier ones of ours.
        after: The same part with the places and fingers that were found.
    """
    measures = []
    for old, new in zip(before.measures, after.measures, strict=True):
        voices = tuple(
            replace(
                voice,
                events=tuple(
                    _claimed_event(a, b) for a, b in zip(was.events, voice.events, strict=True)
                ),
            )
            for was, voice in zip(old.voices, new.voices, strict=True)
        )
        measures.append(replace(new, voices=voices))
    return replace(after, measures=tuple(measures))


def _claimed_event(before: Event, after: Event) -> Event:
    if not after.notes:
        return after
    notes = tuple(_claimed(a, b) for a, b in zip(before.notes, after.notes, strict=True))
    return replace(after, notes=notes)


def _claimed(before: Note, after: Note) -> Note:
    own = set(own_signs(after))
    if not after.finger:
        own.discard(FINGERING)
    elif before.finger != after.finger and may_own(after):
        own.add(FINGERING)
    if after.place is not None and before.place != after.place and may_own(after):
        own.add(PLACE)
    return with_own(after, own)
