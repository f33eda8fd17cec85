"""Plucking fingers for fingerstyle: ``p i m a``.

Common practice (guitardownunder.com, classicalguitarshed.com): the thumb takes the bass strings,
``i m a`` the treble strings 3 2 1; a chord is taken by ``p`` and the fingers above it, and a
thumb that has more strings than fingers sweeps over them. A melody alternates ``i m`` on whatever
string, and no finger plays two notes of a line in a row on one string; a line on bass strings
alone is the thumb's. On a bass all lines alternate.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from variants.marks.marking import MarkJob
from variants.marks.moments import State, moments
from variants.marks.own import may_own, own_signs, with_own, without_text
from variants.score import Event, Instrument, Measure, Note, Part, map_keyed, with_notes
from variants.score.sides import from_high

PLUCKING = "plucking"
_FINGERS = ("i", "m", "a")
# The next finger of an alternation.
_NEXT = {"i": "m", "m": "i", "a": "m"}
# Instruments whose lowest string lies below this MIDI number are basses.
_BASS_BELOW = 33
# Two notes up to this many semitones apart are a step.
_STEP = 2

# Voice, event, note: each by its place.
Head = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class _Struck:
    """One note that is struck: where it stands, its string and height, whether on top."""

    head: Head
    string: int
    midi: int
    is_upper: bool = True


def put_plucking(job: MarkJob) -> Part:
    """Return the part with plucking fingers on its placed notes; the source's own stand."""
    if job.part.instrument is None:
        return job.part
    hand = _Hand(job.part.instrument)
    fingers = [hand.measure(measure) for measure in job.part.measures]
    return map_keyed(job.part, lambda key, event: _with_fingers(event, key[1:], fingers[key[0]]))


def without_plucking(part: Part) -> Part:
    """Return the part without the plucking fingers that we set."""
    return without_text(part, PLUCKING, lambda note: replace(note, pluck=""))


def _with_fingers(event: Event, where: tuple[int, int], fingers: dict[Head, str]) -> Event:
    if not event.notes:
        return event
    return with_notes(
        event,
        tuple(
            _plucked(note, fingers.get((*where, index), ""))
            for index, note in enumerate(event.notes)
        ),
    )


def _plucked(note: Note, finger: str) -> Note:
    if not finger or note.pluck or not may_own(note):
        return note
    return with_own(replace(note, pluck=finger), own_signs(note) | {PLUCKING})


class _Hand:
    """The plucking hand: what it did last, and what it does in a measure."""

    def __init__(self, instrument: Instrument) -> None:
        self.treble = instrument.strings // 2
        self.is_bass = min(one.midi for one in instrument.open_strings) < _BASS_BELOW
        self.last = ""
        self.last_string = 0

    def measure(self, measure: Measure) -> dict[Head, str]:
        """Return the finger of every note that is struck in a measure."""
        groups = [
            _struck(measure, moment.tick)
            for moment in moments(measure)
            if moment.state is State.STRUCK
        ]
        groups = [group for group in groups if group]
        voices = {one.head[0] for group in groups for one in group}
        melody = self._is_melody(groups)
        found: dict[Head, str] = {}
        for group in groups:
            if melody:
                found |= self._line_note(group[0])
            else:
                found |= self._group(group, many_voices=len(voices) > 1)
        return found

    def _is_melody(self, groups: list[list[_Struck]]) -> bool:
        if any(len(group) > 1 for group in groups) or len({g[0].head[0] for g in groups}) > 1:
            return False
        if self.is_bass:
            return True
        line = [group[0] for group in groups]
        if len(line) < 2 or all(one.string > self.treble for one in line):
            return False
        pairs = list(pairwise(line))
        steps = sum(a.string == b.string or abs(a.midi - b.midi) <= _STEP for a, b in pairs)
        return 2 * steps >= len(pairs)

    def _line_note(self, one: _Struck) -> dict[Head, str]:
        self.last = _NEXT.get(self.last, "i")
        self.last_string = one.string
        return {one.head: self.last}

    def _group(self, group: list[_Struck], *, many_voices: bool) -> dict[Head, str]:
        """Return the fingers of notes that are struck together, the bass side first."""
        low = [
            one
            for one in group
            if one.string > self.treble or (many_voices and not one.is_upper and one.string > 1)
        ]
        thumbs = 0
        if low and low[0] is group[0]:
            # The thumb takes one string, and more only where the fingers run out.
            thumbs = max(1, len(group) - len(_FINGERS))
        else:
            thumbs = max(0, len(group) - len(_FINGERS))
        found = {one.head: "p" for one in group[:thumbs]}
        upper = group[thumbs:]
        if len(upper) == 1:
            return found | self._upper_note(upper[0])
        if upper:
            fingers = self._homes(upper)
            found |= {one.head: finger for one, finger in zip(upper, fingers, strict=True)}
            self.last, self.last_string = fingers[-1], upper[-1].string
        return found

    def _upper_note(self, one: _Struck) -> dict[Head, str]:
        finger = self._home(one.string)
        if self.last and (one.string == self.last_string or finger == self.last):
            finger = _NEXT[self.last]
        self.last, self.last_string = finger, one.string
        return {one.head: finger}

    def _homes(self, upper: list[_Struck]) -> list[str]:
        homes = [self._home(one.string) for one in upper]
        return homes if len(set(homes)) == len(homes) else list(_FINGERS[: len(upper)])

    def _home(self, string: int) -> str:
        return _FINGERS[min(max(self.treble - string, 0), 2)]


def _struck(measure: Measure, tick: int) -> list[_Struck]:
    found: dict[int, _Struck] = {}
    played = {n for n, v in enumerate(measure.voices) if any(event.notes for event in v.events)}
    order = [number for number in from_high(measure) if number in played]
    for number in order:
        voice = measure.voices[number]
        for place, event in enumerate(voice.events):
            if event.onset != tick or event.grace is not None or event.is_cue:
                continue
            for index, note in enumerate(event.notes):
                if note.place is None or note.pitch is None or note.tie_stop:
                    continue
                head = (number, place, index)
                # Two voices that meet on one note are plucked once.
                one = _Struck(head, note.place.string, note.pitch.midi, number == order[0])
                found.setdefault(note.place.string, one)
    return sorted(found.values(), key=lambda one: -one.string)
