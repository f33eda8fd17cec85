"""What MIDI files need beside: a look at their length first, names of notes afterwards.

The layout of a file is that of the Standard MIDI Files specification (MIDI Manufacturers
Association, 1996): chunks of a four-letter name and a length; in a track, variable-length times.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, replace
from fractions import Fraction

from variants.convert.bounds import LONGEST
from variants.errors import InputError
from variants.limits import MOST_QUARTERS, FileLimits
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
_TIME_SIGNATURE = 0x58
_NOTE_ON = 0x90
# The smallest value that beats are counted in: the 64th.
_SMALLEST_POWER = 6
_WAY_OUT = "export or download it again"


def check_midi(data: bytes, limits: FileLimits) -> None:
    """Check that a file is a MIDI file of a sensible length, before rests are made of its silence.

    Raises:
        InputError: It is none, it is cut, or it lasts longer than any score.
    """
    if len(data) < _HEAD.size or data[:4] != b"MThd":
        raise InputError("this is no MIDI file", way_out=_WAY_OUT)
    _, size, _, tracks, division = _HEAD.unpack_from(data)
    if division & 0x8000 or not division:
        raise InputError(
            "its times are film frames, not parts of a quarter",
            way_out="export it with a number of ticks for each quarter",
        )
    place, found = 8 + size, _Track()
    for number in range(1, tracks + 1):
        if place + _CHUNK.size > len(data):
            raise InputError("the MIDI file is cut off", way_out=_WAY_OUT)
        name, size = _CHUNK.unpack_from(data, place)
        place += _CHUNK.size
        if place + size > len(data):
            raise InputError("the MIDI file is cut off", way_out=_WAY_OUT)
        if name == b"MTrk":
            found.add(data[place : place + size], number)
        place += size
        found.check(division, limits, number)


@dataclass(slots=True)
class _Track:
    """What the tracks so far ask for.

    Args:
        ticks: Ticks of all tracks together.
        longest: Ticks of the longest time in which nothing happens.
        most: Ticks of the longest track.
        notes: Notes that are struck.
        metre: Quarters of the shortest measure.
    """

    ticks: int = 0
    longest: int = 0
    most: int = 0
    notes: int = 0
    metre: Fraction = Fraction(4)

    def check(self, division: int, limits: FileLimits, number: int) -> None:
        """Refuse a file of too many notes, quarters or measures."""
        measures = Fraction(self.ticks, division) / self.metre
        is_still = self.longest > LONGEST * division
        if is_still or self.most > MOST_QUARTERS * division or measures > MOST_QUARTERS:
            raise InputError(
                "it lasts longer than any score",
                place=f"track {number}",
                way_out="cut the silence out of it, or split it",
            )
        if self.notes > limits.notes:
            raise InputError(
                "the score has too many notes", way_out="split it, or raise the limit (notes)"
            )

    def add(self, track: bytes, number: int) -> None:
        """Count one track; what cannot be read ends it."""
        place = total = status = 0
        try:
            while place < len(track):
                time, place = _number(track, place)
                total += time
                self.longest = max(self.longest, time)
                if track[place] & 0x80:
                    status, place = track[place], place + 1
                if status in (0xFF, 0xF0, 0xF7):
                    kind, place = track[place], place + (status == 0xFF)
                    length, place = _number(track, place)
                    if status == 0xFF and kind == _TIME_SIGNATURE:
                        self._set_metre(track[place], track[place + 1], number)
                    place += length
                else:
                    self.notes += status & 0xF0 == _NOTE_ON
                    place += 1 if status & 0xF0 in (0xC0, 0xD0) else 2
        except IndexError:
            pass
        self.ticks += total
        self.most = max(self.most, total)

    def _set_metre(self, beats: int, power: int, number: int) -> None:
        if not beats or power > _SMALLEST_POWER:
            raise InputError(
                f"its time signature is {beats} over 2 to the power of {power}",
                place=f"track {number}",
                way_out="correct it, or leave it out",
            )
        self.metre = min(self.metre, Fraction(4 * beats, 2**power))


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
