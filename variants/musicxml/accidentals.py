"""Decides where an accidental must be printed.

Common practice: an accidental holds for its letter and octave to the end of the measure on its
staff; a note that is tied over the barline needs none.
"""

from __future__ import annotations

from variants.music import Key
from variants.music.pitch import Alteration
from variants.musicxml.note_writer import NoteStyle
from variants.score import Voice

# For each voice and event the notes whose accidental must be printed; None where none must.
Needed = list[list[tuple[bool, ...] | None]]
# The style that gives written pitches, and the ticks from which each holds; the first is at 0.
Styles = list[tuple[int, NoteStyle]]


def needed_accidentals(
    voices: tuple[Voice, ...], keys: list[tuple[int, int, Key]], styles: Styles
) -> Needed:
    """Return for each voice and event which notes need an accidental.

    Args:
        voices: The voices of one measure.
        keys: (tick, staff, written key) in order of time; staff 0 for all, and the first
            entries at tick 0 are what is in force at the start.
        styles: They give the written pitches.
    """
    needed: Needed = [[None] * len(voice.events) for voice in voices]
    table = {staff: key for tick, staff, key in keys if tick == 0}
    later = [entry for entry in keys if entry[0]]
    style, coming = styles[0][1], styles[1:]
    # What holds for a letter and octave on a staff so far, and for a letter by the signature.
    state: dict[tuple[int, str, int], Alteration] = {}
    signed: dict[tuple[int, str], Alteration] = {}
    for onset, voice_index, event_index in _in_time(voices):
        while later and later[0][0] <= onset:
            _, staff, key = later.pop(0)
            table[staff] = key
            state.clear()
            signed.clear()
        while coming and coming[0][0] <= onset:
            style = coming.pop(0)[1]
        event = voices[voice_index].events[event_index]
        for index, note in enumerate(event.notes):
            written = note.pitch
            if written is None:
                continue
            staff = note.staff or event.staff
            if style.shift:
                written = style.written(written, staff)
            place = (staff, written.letter, written.octave)
            before = state.get(place)
            if before is None:
                if note.tie_stop and onset == 0:
                    continue
                before = signed.get(place[:2])
                if before is None:
                    key_here = table.get(staff) or table.get(0)
                    before = key_here.altered(written.letter) if key_here else 0
                    signed[place[:2]] = before
            if written.alter != before:
                state[place] = written.alter
                marks = needed[voice_index][event_index] or (False,) * len(event.notes)
                needed[voice_index][event_index] = (*marks[:index], True, *marks[index + 1 :])
    return needed


def _in_time(voices: tuple[Voice, ...]) -> list[tuple[int, int, int]]:
    if len(voices) == 1:
        return [(event.onset, 0, index) for index, event in enumerate(voices[0].events)]
    return sorted(
        (event.onset, number, index)
        for number, voice in enumerate(voices)
        for index, event in enumerate(voice.events)
    )
