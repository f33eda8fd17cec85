"""Makes events of the notes that begin together in a voice."""

from __future__ import annotations

from variants.musicxml.draft import Draft, place
from variants.musicxml.note_reader import NOTE_FAMILIES
from variants.score import Event, Mark, Note

# An event in the making: onset, duration, and the drafts of its notes.
Pending = tuple[int, int, list[Draft]]


def event_of(pending: Pending) -> Event:
    """Return the event of notes that begin together."""
    onset, duration, drafts = pending
    first = drafts[0]
    if len(drafts) > 1:
        # A rest has no place in a chord.
        drafts = [one for one in drafts if not one.rest] or drafts[:1]
        first = drafts[0]
    if first.rest:
        return Event(
            onset, duration, first.value, (), first.staff or 1, first.grace, first.cue,
            first.measure_rest, "", first.beams, first.marks, first.lyrics, first.extras,
        )  # fmt: skip
    marks, own, lyrics = first.marks, first.marks, first.lyrics
    if marks:
        # Marks of the moment are the event's, those of a note stay with the first one.
        own = tuple(mark for mark in marks if mark.family in NOTE_FAMILIES)
        marks = tuple(mark for mark in marks if mark.family not in NOTE_FAMILIES)
    notes: tuple[Note, ...] = (_note(first, own, first.staff),)
    if len(drafts) > 1:
        staff = first.staff or 1
        notes += tuple([_note(draft, draft.marks, staff) for draft in drafts[1:]])
        lyrics = tuple(lyric for draft in drafts for lyric in draft.lyrics)
    return Event(
        onset, duration, first.value, notes, first.staff or 1, first.grace, first.cue, False,  # noqa: FBT003
        first.stem, first.beams, marks, lyrics, (),
    )  # fmt: skip


def _note(draft: Draft, marks: tuple[Mark, ...], staff: int) -> Note:
    start, stop = draft.tie_start, draft.tie_stop
    if marks:
        start, stop, marks = _ties(marks, start=start, stop=stop)
    own = draft.staff
    return Note(
        draft.pitch, stop, start,
        place(draft.string, draft.fret) if draft.string and draft.fret >= 0 else None,
        draft.finger, draft.pluck, draft.accidental,
        own if own and own != staff else 0, marks, draft.extras,
    )  # fmt: skip


def _ties(
    marks: tuple[Mark, ...], *, start: bool, stop: bool
) -> tuple[bool, bool, tuple[Mark, ...]]:
    # The sound of a tie is <tie>, its picture <tied>. A picture alone is read as a tie too.
    drawn = {mark.role for mark in marks if mark.family == "tied"}
    if not drawn:
        return start, stop, marks
    if not (start or stop):
        start, stop = "start" in drawn, "stop" in drawn
    kept = tuple(mark for mark in marks if mark.family != "tied" or mark.role == "let-ring")
    return start, stop, kept


def overlaps(pending: list[Pending]) -> bool:
    """Return whether one of a row of events begins before the one in front of it is over."""
    end = 0
    for onset, duration, _ in pending:
        if onset < end:
            return True
        end = onset + duration
    return False
