"""Fretting fingers: printed as the fingering engine set them, or taken off."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from variants.marks.marking import Choice, Job
from variants.marks.own import may_own, own_signs, with_own, without_text
from variants.score import Event, Note, Part, map_notes

FINGERING = "fingering"
CHOICES = (Choice("open", ("all", "no-open"), "whether open strings are marked 0"),)


def put_fingering(job: Job) -> Part:
    """Return the part with the fingers that it has, open strings as chosen.

    The source's own fingers stand as they are.
    """
    if job.chosen.get("open") != "no-open":
        return job.part

    def closed(note: Note) -> Note:
        if note.finger != "0" or FINGERING not in own_signs(note):
            return note
        return with_own(replace(note, finger=""), own_signs(note) - {FINGERING})

    return map_notes(job.part, closed)


def without_fingering(part: Part) -> Part:
    """Return the part without the fingers that we set."""
    return without_text(part, FINGERING, lambda note: replace(note, finger=""))


def claimed(before: Part, after: Part) -> Part:
    """Return a fingered part whose notes say which of their fingers are ours.

    Args:
        before: The part as it was, with the source's fingers and earlier ones of ours.
        after: The same part with the fingers that were found.
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
    own: Collection[str] = own_signs(after)
    if not after.finger:
        return with_own(after, set(own) - {FINGERING})
    if before.finger == after.finger or not may_own(after):
        return after
    return with_own(after, {*own, FINGERING})
