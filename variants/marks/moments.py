"""The moments of a measure: what all voices of a part do together."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from variants.score import Event, Measure


class State(Enum):
    """What happens at a moment."""

    STRUCK = "struck"
    HELD = "held"
    SILENT = "silent"


@dataclass(frozen=True, slots=True)
class MarkedMoment:
    """A moment at which something begins.

    Args:
        tick: Ticks from the start of the measure.
        until: Tick of the moment after, or of the end of the measure.
        state: What the part as a whole does here.
        voice: Place of the voice that carries its sign.
        event: Place of the event in that voice.
    """

    tick: int
    until: int
    state: State
    voice: int
    event: int


# Voice, place in the voice, event.
_Standing = tuple[int, int, Event]


def moments(measure: Measure) -> list[MarkedMoment]:
    """Return the moments of a measure in order of time.

    Struck if any voice strikes a note, held if none does and a note sounds on, else silent. The
    first voice that strikes carries the sign, else the first that has an event. A rest that
    begins while another voice holds a note is no moment of its own.
    """
    return moments_of(timed(measure), measure.length)


def moments_of(events: list[_Standing], length: int) -> list[MarkedMoment]:
    """Return the moments of the timed events of a measure; see `moments`."""
    by_tick: dict[int, list[_Standing]] = {}
    for one in events:
        by_tick.setdefault(one[2].onset, []).append(one)
    found: list[tuple[int, State, int, int]] = []
    for tick, here in sorted(by_tick.items()):
        state = state_at(events, tick)
        if state is None or (state is State.HELD and not any(event.notes for _, _, event in here)):
            continue
        wanted = [one for one in here if strikes(one[2])] if state is State.STRUCK else here
        voice, place, _ = (wanted or here)[0]
        found.append((tick, state, voice, place))
    ends = [*(tick for tick, *_ in found[1:]), length][: len(found)]
    return [
        MarkedMoment(tick, end, state, voice, place)
        for (tick, state, voice, place), end in zip(found, ends, strict=True)
    ]


def timed(measure: Measure) -> list[_Standing]:
    """Return (voice, place, event) of all events that take time and are played or rested."""
    return [
        (number, place, event)
        for number, voice in enumerate(measure.voices)
        for place, event in enumerate(voice.events)
        if event.duration and event.grace is None and not event.is_cue
    ]


def strikes(event: Event) -> bool:
    """Whether a note begins, pitched or not."""
    return any(not note.tie_stop for note in event.notes)


def state_at(events: list[_Standing], tick: int) -> State | None:
    """Return what a part does at a tick; ``None`` where nothing is written."""
    here = [event for _, _, event in events if event.onset <= tick < event.end]
    if any(event.onset == tick and strikes(event) for event in here):
        return State.STRUCK
    if any(event.notes for event in here):
        return State.HELD
    return State.SILENT if here else None
