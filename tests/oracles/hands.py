"""What is impossible in a fingered part: checks of the hand that share no code with the engine.

At each onset everything that sounds is looked at: what is struck there and what is still held by
its duration or its ties, in any voice. A note that the change log says was let go no longer
counts.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from variants.guitar.hand import Hand
from variants.score import Change, Event, Note, Part, Score, measures

LETS, GO = "the hand lets ", " go before the written end"
_ORDINARY = 1 << 60


@dataclass(frozen=True, slots=True)
class Sounding:
    """A note that sounds: its moment, its end in ticks, and how it is held.

    A moment is (onset, measure of a grace note, grace number, measure, tick).
    """

    moment: tuple[int, int, int, int, int]
    end: int
    midi: int
    string: int
    fret: int
    finger: str


def check_part(score: Score, part: Part, changes: Iterable[Change] = ()) -> Iterator[str]:
    """Yield what is impossible in a fingered part; nothing when a hand can play it.

    Args:
        score: The score of the part, for its ticks.
        part: The part.
        changes: The change log, which tells what the hand lets go.
    """
    told = _let_go(changes)
    views = measures(part, score.ticks)
    held: list[Sounding] = []
    struck, faults = _struck(part)
    yield from faults
    for moment in sorted({one.moment for one in struck}):
        measure, tick = moment[3:]
        view = views[measure]
        here = told.get((view.measure.number, view.beat_text(tick)), Counter())
        new = list(dict.fromkeys(one for one in struck if one.moment == moment))
        held = [one for one in held if one.end > moment[0] and not here[one.midi]]
        found = list(check_grip(new, part))
        if not found:
            found = [f"{fault}, held notes counted" for fault in check_grip(new + held, part)]
        yield from (f"measure {view.measure.number}: {fault}" for fault in found)
        held += new


def _let_go(changes: Iterable[Change]) -> dict[tuple[str, str], Counter[int]]:
    from variants.music import Pitch

    told: dict[tuple[str, str], Counter[int]] = {}
    for change in changes:
        if change.message.startswith(LETS) and change.message.endswith(GO):
            names = change.message[len(LETS) : -len(GO)].split(" and ")
            here = told.setdefault((change.measure, change.beat), Counter())
            here.update(Pitch.parse(name).midi for name in names)
    return told


def _struck(part: Part) -> tuple[list[Sounding], list[str]]:
    """Return what is struck, ties joined and doubled notes merged, and notes without a place."""
    found: list[Sounding] = []
    faults: list[str] = []
    waiting: dict[tuple[int, int], int] = {}
    for moment, event, note in sorted(_heads(part), key=lambda head: (head[0], head[2].tie_stop)):
        if note.pitch is None:
            continue
        end, midi = moment[0] + event.duration, note.pitch.midi
        number = part.measures[moment[3]].number
        tied = waiting.get((midi, moment[0])) if note.tie_stop else None
        if note.place is None:
            faults.append(f"measure {number}: a note has no place")
        elif tied is not None:
            # What another voice strikes anew there ends the one before, and the tie lengthens it.
            again = [i for i, one in enumerate(found) if (one.moment, one.midi) == (moment, midi)]
            index = again[0] if again else tied
            known = found[index]
            if (known.string, known.fret) != (note.place.string, note.place.fret):
                faults.append(f"measure {number}: a tied note moves to {note.place}")
            found[index] = replace(known, end=max(end, known.end))
            waiting[midi, end] = index
        elif not note.tie_stop:
            waiting[midi, end] = len(found)
            place = note.place
            found.append(Sounding(moment, end, midi, place.string, place.fret, note.finger))
    return _doubles_merged(found), faults


def _heads(part: Part) -> Iterator[tuple[tuple[int, int, int, int, int], Event, Note]]:
    start = 0
    for index, measure in enumerate(part.measures):
        for voice in measure.voices:
            played = [event for event in voice.events if not event.is_cue]
            for number, event in enumerate(played):
                grace = 0
                while number - grace < len(played) and played[number - grace].grace is not None:
                    grace -= 1
                onset = start + event.onset
                first = index if grace else _ORDINARY
                for note in event.notes:
                    yield (onset, first, grace, index, event.onset), event, note
        start += measure.length


def _doubles_merged(struck: list[Sounding]) -> list[Sounding]:
    """Return the notes; what several voices write for one sound lasts as long as the longest."""
    ends: dict[Sounding, int] = {}
    for one in struck:
        key = replace(one, end=0)
        ends[key] = max(ends.get(key, 0), one.end)
    return [replace(one, end=end) for one, end in ends.items()]


def check_grip(grip: list[Sounding], part: Part) -> Iterator[str]:
    """Yield what is impossible in notes that sound together."""
    for one in grip:
        if part.instrument is None or part.instrument.open_midi[one.string - 1] + one.fret != (
            one.midi
        ):
            yield f"string {one.string}, fret {one.fret} does not sound MIDI {one.midi}"
        if (one.fret == 0) != (one.finger == "0"):
            yield f"finger {one.finger} at fret {one.fret}"
    if len({one.string for one in grip}) < len(grip):
        yield "two notes on one string"
    stopped = sorted((int(o.finger), o.fret, o.string) for o in grip if o.fret and o.finger != "T")
    yield from check_fingers(stopped)
    for low in grip:
        for finger, fret, _ in stopped:
            lies = [string for its, _, string in stopped if its == finger]
            if low.fret < fret and min(lies) < low.string < max(lies):
                yield f"finger {finger} lies across string {low.string} at fret {low.fret}"


def check_fingers(stopped: list[tuple[int, int, int]]) -> Iterator[str]:
    """Yield what is impossible in (finger, fret, string), sorted by finger."""
    hand = Hand.of("medium")
    for i, (finger, fret, string) in enumerate(stopped):
        for other, its_fret, its_string in stopped[i + 1 :]:
            if finger == other:
                if fret != its_fret:
                    yield f"finger {finger} at frets {fret} and {its_fret}"
            elif its_fret < fret:
                yield f"finger {other} at fret {its_fret}, finger {finger} at fret {fret}"
            elif its_fret == fret and its_string > string:
                yield f"fingers {finger} and {other} crossed at fret {fret}"
            else:
                span = 650.0 * (2 ** (-fret / 12) - 2 ** (-its_fret / 12))
                if span > hand.limit_mm(finger, other) + 0.1:
                    yield f"{span:.0f} mm between fingers {finger} and {other}"
