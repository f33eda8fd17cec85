"""Circled string numbers, where the place of a note is not the obvious one.

Obvious is the place with the lowest fret: open strings and the first position. A number is not
said again until the line leaves its string (common practice; circled numbers for strings:
classicalguitarshed.com). Of a chord the lowest string is named, the fingers tell the rest.
"""

from __future__ import annotations

from variants.marks.marking import Choice, MarkJob
from variants.marks.own import has_technical, may_own, with_technical
from variants.score import Event, EventKey, Instrument, Mark, Note, Part, map_keyed, with_notes

STRINGS = "strings"
SIGNS = ("string",)
CHOICES = (Choice("where", ("moved", "all"), "where a string is not obvious, or on every note"),)


def put_strings(job: MarkJob) -> Part:
    """Return the part with circled strings; the source's own stand."""
    instrument = job.part.instrument
    if instrument is None:
        return job.part
    every = job.chosen.get("where") == "all"
    last: dict[str, int] = {}

    def marked(key: EventKey, event: Event) -> Event:
        voice = job.part.measures[key[0]].voices[key[1]].id
        done, string = _marked(event, instrument, last.get(voice, 0), every=every)
        if string is not None:
            last[voice] = string
        return done

    return map_keyed(job.part, marked)


def _marked(
    event: Event, instrument: Instrument, last: int, *, every: bool
) -> tuple[Event, int | None]:
    """Return the event, and the string that is known after it; ``None`` if that is as before."""
    placed = [
        (note.place.string, index)
        for index, note in enumerate(event.notes)
        if note.place is not None and not note.tie_stop
    ]
    if not placed or event.is_cue or event.grace is not None:
        return event, None
    if every:
        chosen = [index for _, index in placed]
        return _with_signs(event, chosen), 0
    string, lowest = max(placed)
    if is_obvious(event.notes[lowest], instrument):
        return event, 0
    return (event if string == last else _with_signs(event, [lowest])), string


def _with_signs(event: Event, indices: list[int]) -> Event:
    notes = list(event.notes)
    for index in indices:
        note = notes[index]
        if note.place is not None and may_own(note) and not has_technical(note, SIGNS):
            number = note.place.string
            mark = Mark("technical", "string", "", "", f"<string>{number}</string>")
            notes[index] = with_technical(note, mark, STRINGS)
    return with_notes(event, tuple(notes))


def is_obvious(note: Note, instrument: Instrument) -> bool:
    """Whether a note stands where a reader looks for it first: at its lowest fret."""
    if note.place is None or note.pitch is None:
        return True
    frets = [place.fret for place in instrument.places(note.pitch.midi)]
    return not frets or note.place.fret <= min(frets)
