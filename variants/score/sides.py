"""Which voice of a staff is the upper one, and on which side of it a figure stands.

By the height of what sounds, measure by measure; the order of the voices in a file says nothing,
and voices cross. Common practice: the upper voice has its stems up and its figures above, the
lower one stems down and figures below, so that the figure nearest to a note head is its own.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import lcm

from variants.score.edit import with_voices
from variants.score.model import Event, Measure, Note, Part, Voice
from variants.score.timeline import moments

# Voice and event, each by its place.
_Where = tuple[int, int]
# So many voices on one staff need sides.
_SHARED = 2


def from_high(measure: Measure) -> list[int]:
    """Return the places of the voices of a measure, those of each staff from high to low.

    How high a voice is is the mean height of its notes, each as long as it sounds. A voice without
    notes stays where it is; so do voices that are equally high.
    """
    heights = [_height(voice.events) for voice in measure.voices]
    order = list(range(len(heights)))
    for staff in {found[0] for found in heights if found}:
        slots = [place for place, found in enumerate(heights) if found and found[0] == staff]
        ranked = sorted(slots, key=lambda place: -(heights[place] or (0, Fraction(0)))[1])
        for slot, place in zip(slots, ranked, strict=True):
            order[slot] = place
    return order


def voices_from_high(part: Part) -> Part:
    """Return the part with the voices of every measure from high to low."""
    done = []
    for measure in part.measures:
        order = from_high(measure)
        voices = tuple(measure.voices[place] for place in order)
        done.append(measure if voices == measure.voices else with_voices(measure, voices))
    return replace(part, measures=tuple(done))


def undersides(measure: Measure) -> dict[_Where, tuple[bool, ...]]:
    """Return for each event of voices that share a staff which of its notes have figures below.

    The lowest voice has them below, also where it is alone at a moment. Where voices begin
    together, as many notes as the lowest chord has there are below, counted from the lowest: read
    from top to bottom the figures of a moment belong to its heads from top to bottom.
    """
    shared = _shared_staves(measure)
    if not shared:
        return {}
    rank = {place: number for number, place in enumerate(from_high(measure))}
    groups: dict[tuple[int, tuple[int, int]], list[_Where]] = {}
    for place, voice in enumerate(measure.voices):
        for moment, at in moments(voice.events):
            if voice.events[at].notes and voice.events[at].staff in shared:
                groups.setdefault((voice.events[at].staff, moment), []).append((place, at))
    found: dict[_Where, tuple[bool, ...]] = {}
    for staff in shared:
        mine = [group for key, group in groups.items() if key[0] == staff]
        lowest = max((place for group in mine for place, _ in group), key=rank.__getitem__)
        for group in mine:
            found |= _under(measure, group, rank, lowest)
    return found


def _shared_staves(measure: Measure) -> set[int]:
    """Return the staves on which more than one voice of a measure has notes."""
    if len(measure.voices) < _SHARED:
        return set()
    used = [{event.staff for event in voice.events if event.notes} for voice in measure.voices]
    return {staff for one in used for staff in one if sum(staff in two for two in used) >= _SHARED}


def _under(
    measure: Measure, group: list[_Where], rank: dict[int, int], lowest: int
) -> dict[_Where, tuple[bool, ...]]:
    """Return which notes of the events of one moment have their figures below."""
    chords = {where: measure.voices[where[0]].events[where[1]].notes for where in group}
    heads = sorted(
        (_steps(note), -rank[where[0]], where, index)
        for where, notes in chords.items()
        for index, note in enumerate(notes)
    )
    if len(group) > 1:
        low = min(group, key=lambda where: (_middle(chords[where]), -rank[where[0]]))
        count = len(chords[low])
    else:
        count = len(heads) if group[0][0] == lowest else 0
    under = {head[2:] for head in heads[:count]}
    return {
        where: tuple((where, index) in under for index in range(len(notes)))
        for where, notes in chords.items()
    }


def with_stems(measure: Measure) -> Measure:
    """Return a measure whose voices share a staff with stems apart, where it has none itself.

    The lowest voice of a staff has them down, all others up.
    """
    down = _stems_down(measure)
    if not down:
        return measure
    voices = tuple(
        Voice(
            voice.id,
            tuple(
                replace(event, stem="down" if down[event.staff] == place else "up")
                if event.staff in down and event.notes and event.grace is None
                else event
                for event in voice.events
            ),
        )
        for place, voice in enumerate(measure.voices)
    )
    return with_voices(measure, voices)


def _stems_down(measure: Measure) -> dict[int, int]:
    """Return the lowest voice of each staff that voices share and that has no stem of its own."""
    if len(measure.voices) < _SHARED:
        return {}
    staves: dict[int, list[int]] = {}
    told = {e.staff for e in measure.events if e.stem}
    for place in from_high(measure):
        for staff in {event.staff for event in measure.voices[place].events if event.notes}:
            staves.setdefault(staff, []).append(place)
    return {
        staff: places[-1]
        for staff, places in staves.items()
        if len(places) >= _SHARED and staff not in told
    }


def _height(events: tuple[Event, ...]) -> tuple[int, Fraction] | None:
    """Return the staff of a voice and the mean height of its notes; ``None`` without notes."""
    sounding = [event for event in events if event.notes and event.grace is None]
    whole = sum(event.duration for event in sounding)
    if not whole:
        return None
    # Whole numbers as long as can be: this is asked for every measure that is written.
    share = lcm(*(len(event.notes) for event in sounding))
    total = sum(
        sum(map(_steps, event.notes)) * event.duration * (share // len(event.notes))
        for event in sounding
    )
    return sounding[0].staff, Fraction(total, whole * share)


def _middle(notes: tuple[Note, ...]) -> Fraction:
    return Fraction(sum(map(_steps, notes)), len(notes))


def _steps(note: Note) -> int:
    # On the staff an A flat stands over a G sharp.
    return note.pitch.steps if note.pitch is not None else 0
