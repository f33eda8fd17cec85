"""What MIDI files need beside: a look at their length first, names of notes afterwards.

The layout of a file is that of the Standard MIDI Files specification (MIDI Manufacturers
Association, 1996): chunks of a four-letter name and a length; in a track, variable-length times.
"""

from __future__ import annotations

import struct
from dataclasses import replace

from variants.errors import InputError
from variants.limits import MOST_QUARTERS
from variants.music import Key, spelled
from variants.score import (
    Event,
    MeasureView,
    Note,
    Part,
    Score,
    map_measure_events,
    measures,
    with_notes,
    with_pitch,
)

_HEAD = struct.Struct(">4sIHHH")
_CHUNK = struct.Struct(">4sI")
_WAY_OUT = "export or download it again"


def check_midi(data: bytes) -> None:
    """Check that a file is a MIDI file of a sensible length, before rests are made of its silence.

    Raises:
        InputError: It is none, it is cut, or a silence in it is longer than any score.
    """
    if len(data) < _HEAD.size or data[:4] != b"MThd":
        raise InputError("this is no MIDI file", way_out=_WAY_OUT)
    _, size, _, tracks, division = _HEAD.unpack_from(data)
    if division & 0x8000 or not division:
        raise InputError(
            "its times are film frames, not parts of a quarter",
            way_out="export it with a number of ticks for each quarter",
        )
    place = 8 + size
    for _ in range(tracks):
        if place + _CHUNK.size > len(data):
            raise InputError("the MIDI file is cut off", way_out=_WAY_OUT)
        name, size = _CHUNK.unpack_from(data, place)
        place += _CHUNK.size
        if place + size > len(data):
            raise InputError("the MIDI file is cut off", way_out=_WAY_OUT)
        if name == b"MTrk" and _ticks(data[place : place + size]) > MOST_QUARTERS * division:
            raise InputError("it lasts longer than any score", way_out="cut the silence out of it")
        place += size


def _ticks(track: bytes) -> int:
    """Return the ticks that a track lasts; what cannot be read ends it."""
    place = total = status = 0
    try:
        while place < len(track):
            time, place = _number(track, place)
            total += time
            if track[place] & 0x80:
                status, place = track[place], place + 1
            if status in (0xFF, 0xF0, 0xF7):
                place += status == 0xFF
                length, place = _number(track, place)
                place += length
            else:
                place += 1 if status & 0xF0 in (0xC0, 0xD0) else 2
    except IndexError:
        return total
    return total


def _number(track: bytes, place: int) -> tuple[int, int]:
    value = 0
    for _ in range(4):
        byte = track[place]
        place += 1
        value = value << 7 | byte & 0x7F
        if not byte & 0x80:
            break
    return value, place


def named_by_key(score: Score) -> Score:
    """Return the score with every note named as its key has it."""
    return replace(score, parts=tuple(_named(part, score.ticks) for part in score.parts))


def _named(part: Part, ticks: int) -> Part:
    done = []
    for view in measures(part, ticks):

        def renamed(event: Event, view: MeasureView = view) -> Event:
            return with_notes(event, tuple([_note(note, view.key) for note in event.notes]))

        done.append(map_measure_events(view.measure, renamed))
    return replace(part, measures=tuple(done))


def _note(note: Note, key: Key) -> Note:
    if note.pitch is None:
        return note
    name = spelled(note.pitch.midi, key)
    # The accidental that was printed belongs to the old name.
    return note if name == note.pitch else replace(with_pitch(note, name), accidental="")
