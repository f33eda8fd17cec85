"""Pick strokes by metre: down on the beat, up off it.

The hand keeps moving through rests and ties (shedthemusic.net): in each beat it swings as finely
as the notes of that beat ask, and a note takes the direction that the hand has where the note
falls. Eighths go down and up, sixteenths ``1`` down ``e`` up ``&`` down ``a`` up; 6/8 goes down up
down, down up down, or strictly in turn, whatever string comes, when that is asked for
(douglasbellmusic.com). A long and a short note of a triplet swing down and up (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from variants.marks.lines import RESTING, with_line
from variants.marks.marking import Choice, MarkJob
from variants.marks.moments import MarkedMoment, State, moments
from variants.marks.own import has_technical, may_own, with_technical
from variants.marks.pulse import grids, hand_pulses
from variants.music.metre import Pulse
from variants.score import Event, EventKey, Mark, Part, map_keyed, with_notes

STROKES = "strokes"
DOWN, UP = "down-bow", "up-bow"
SIGNS = (DOWN, UP)
CHOICES = (
    Choice("way", ("metre", "alternate", "down"), "by the metre, strictly in turn, or all down"),
    Choice("resting", ("free", "rests-on"), "whether the string is named that a stroke rests on"),
)
# Techniques by which the fretting hand sounds a note: the pick does not strike it.
_UNPICKED = frozenset({"hammer-on", "pull-off", "slide", "glissando"})
_SHUFFLE = frozenset({Fraction(0), Fraction(2, 3)})
_CIRCLED_ONE = 0x2460


@dataclass(frozen=True, slots=True)
class Stroke:
    """One stroke of the pick.

    Args:
        measure: Index of the measure.
        voice: Place of the voice of the first event that is struck.
        event: Place of that event.
        tick: Ticks from the start of the measure.
        is_down: Towards the treble strings.
        rests_on: The string that the pick comes to rest on; 0 for none. After a down stroke it is
            the next string, unless that one sounds on or there is none; an up stroke swings free.
    """

    measure: int
    voice: int
    event: int
    tick: int
    is_down: bool
    rests_on: int = 0


def put_strokes(job: MarkJob) -> Part:
    """Return the part with a stroke over every note that is picked; the source's own stand."""
    found = strokes_of(job.part, job.ticks, way=job.chosen.get("way", "metre"))
    signs: dict[EventKey, str] = {
        (one.measure, one.voice, one.event): DOWN if one.is_down else UP for one in found
    }
    part = map_keyed(job.part, lambda key, event: _with_stroke(event, signs.get(key, "")))
    if job.chosen.get("resting") == "rests-on":
        texts = {
            (one.measure, one.voice, one.event): (f"→{chr(_CIRCLED_ONE + one.rests_on - 1)}",)
            for one in found
            if one.rests_on
        }
        part = with_line(part, RESTING, texts)
    return part


def _with_stroke(event: Event, sign: str) -> Event:
    if not sign or not event.notes or any(has_technical(note, SIGNS) for note in event.notes):
        return event
    first = event.notes[0]
    if not may_own(first):
        return event
    marked = with_technical(first, Mark("technical", sign, "", "", f"<{sign}/>"), STROKES)
    return with_notes(event, (marked, *event.notes[1:]))


def strokes_of(part: Part, ticks: int, *, way: str = "metre") -> list[Stroke]:
    """Return the strokes of a part in order of time.

    Args:
        part: The part.
        ticks: Ticks in a quarter.
        way: ``metre``, ``alternate`` or ``down``.
    """
    found: list[Stroke] = []
    swing = _Swing(way)
    for view, grid in grids(part, ticks, hand_pulses):
        placed = [(moment, *grid.at(moment.tick)) for moment in moments(view.measure)]
        for moment, pulse, place in placed:
            if not _is_picked(moment, part, view.index):
                swing.silent(moment, pulse, ticks)
                continue
            among = {
                where
                for other, same, where in placed
                if same.number == pulse.number and other.state is State.STRUCK
            }
            is_down = swing.strike(pulse, place, among)
            rests_on = _rests_on(part, view.index, moment.tick) if is_down else 0
            found.append(
                Stroke(view.index, moment.voice, moment.event, moment.tick, is_down, rests_on)
            )
    return found


class _Swing:
    """The direction of the hand."""

    def __init__(self, way: str) -> None:
        self.way = way
        self.last_down: bool | None = None

    def silent(self, moment: MarkedMoment, pulse: Pulse, ticks: int) -> None:
        """Take note of a moment that is not picked: after a beat of rest the metre decides."""
        long = moment.until - moment.tick >= pulse.length * ticks
        if moment.state is State.SILENT and long:
            self.last_down = None

    def strike(self, pulse: Pulse, place: Fraction, among: set[Fraction]) -> bool:
        """Return whether a note at a place of a pulse is struck down."""
        if self.way == "down":
            return True
        if self.way == "alternate" and self.last_down is not None:
            self.last_down = not self.last_down
        else:
            self.last_down = self._by_metre(pulse, place, among)
        return self.last_down

    def _by_metre(self, pulse: Pulse, place: Fraction, among: set[Fraction]) -> bool:
        if not pulse.threefold and place == Fraction(2, 3) and among <= _SHUFFLE:
            return False
        parts = lcm(*(one.denominator for one in among), 3 if pulse.threefold else 1)
        if pulse.threefold and among <= {Fraction(0), Fraction(1, 2)}:
            parts = 2
        return place * parts % 2 == 0


def _is_picked(moment: MarkedMoment, part: Part, index: int) -> bool:
    if moment.state is not State.STRUCK:
        return False
    event = part.measures[index].voices[moment.voice].events[moment.event]
    return not any(
        mark.name in _UNPICKED and mark.role == "stop"
        for note in event.notes
        for mark in note.marks
    )


def _rests_on(part: Part, index: int, tick: int) -> int:
    struck: set[int] = set()
    ringing: set[int] = set()
    for event in part.measures[index].events:
        if event.grace is not None or not event.onset <= tick < event.end:
            continue
        for note in event.notes:
            if note.place is not None:
                begins = event.onset == tick and not note.tie_stop
                (struck if begins else ringing).add(note.place.string)
    if not struck:
        return 0
    following = min(struck) - 1
    return 0 if following in ringing else following
