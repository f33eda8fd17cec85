"""Make a single line of what is left when notes are dropped: no two notes sound at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

from variants.score import (
    Change,
    Event,
    EventKey,
    Measure,
    NoteKey,
    Part,
    Voice,
    map_keyed,
    timeline,
)
from variants.score.notation import NotationWriter, writers
from variants.score.timeline import moments
from variants.steps.framework.log import Scribe, count
from variants.steps.lines.dropping import drop_notes


@dataclass(frozen=True, slots=True)
class _Cuts:
    """What ends before it was written to: notes to drop and events to shorten.

    Args:
        dropped: Notes that are held over when the next one begins already.
        ends: Event: ticks that are left of it.
        lines: One line for each note that is shortened.
    """

    dropped: set[NoteKey]
    ends: dict[EventKey, int]
    lines: list[Change]


def single_line(
    part: Part, dropped: set[NoteKey], log: Scribe, *, ticks: int
) -> tuple[Part, list[Change]]:
    """Return the part without some notes, as a single line, and what that changed.

    Each note ends at the latest where the next one begins. A measure in which several voices
    are left, or a note is shortened, is written anew as one voice.

    Args:
        part: The part.
        dropped: The notes to drop: all but one of those that begin together.
        log: Writes the lines.
        ticks: Ticks in a quarter.
    """
    gone = set(dropped)
    links = timeline(part).ties
    for stop, start in links.items():
        if start in gone:
            gone.add(stop)
    cuts = _cuts(part, gone, links, log)
    shortened = _shortened(part, cuts.ends)
    thin, lines = drop_notes(shortened, gone | cuts.dropped, step=log.step)
    cut = {key[0] for key in cuts.ends}
    # A voice that is left alone in its measure turns its stems and beams as one voice does.
    changed = {key[0] for key in (*gone, *cuts.dropped, *cuts.ends)}
    cut |= {index for index in changed if len(_sounding(part.measures[index])) > 1}
    asides = _asides(thin, cut)
    if asides:
        thin, more = drop_notes(thin, asides, step=log.step)
        lines += [log.overall(f"{count(len(asides), 'cue or unpitched note')} dropped"), *more]
    measures: list[Measure] = []
    pairs = zip(thin.measures, writers(thin, ticks, strict=False), strict=True)
    for index, (measure, writer) in enumerate(pairs):
        if _is_merged(measure, is_cut=index in cut):
            voices = _merged(measure, writer)
        else:
            voices = _tidy(measure) if index in changed else measure.voices
        measures.append(measure if voices == measure.voices else replace(measure, voices=voices))
    return replace(thin, measures=tuple(measures)), [*cuts.lines, *lines]


def _sounding(measure: Measure) -> list[Voice]:
    return [voice for voice in measure.voices if any(map(_sounds, voice.events))]


def _is_merged(measure: Measure, *, is_cut: bool) -> bool:
    """Whether a measure is written anew as one voice."""
    number = len(_sounding(measure))
    return number > 1 or (number == 1 and is_cut)


def _asides(part: Part, cut: set[int]) -> set[NoteKey]:
    """Return the cue and unpitched notes in voices that become one."""
    return {
        (index, place, number, note)
        for index, measure in enumerate(part.measures)
        if _is_merged(measure, is_cut=index in cut)
        for place, voice in enumerate(measure.voices)
        if any(map(_sounds, voice.events))
        for number, event in enumerate(voice.events)
        if not _sounds(event)
        for note in range(len(event.notes))
    }


def loose_stops(part: Part) -> list[NoteKey]:
    """Return the notes that are tied to from nowhere, as after the first of two endings.

    Grace notes take no time, so they cannot be in the way of another note.
    """
    links = timeline(part).ties
    return [
        (*key, index)
        for key, event in timeline(part).by_key.items()
        for index, note in enumerate(event.notes)
        if note.tie_stop
        and note.pitch is not None
        and not event.is_cue
        and event.grace is None
        and (*key, index) not in links
    ]


def _cuts(part: Part, gone: set[NoteKey], links: dict[NoteKey, NoteKey], log: Scribe) -> _Cuts:
    limits = _limits(part, gone)
    chain: dict[NoteKey, NoteKey] = {}
    for stop, start in links.items():
        chain[stop] = chain.get(start, start)
    starts = timeline(part).starts
    cuts = _Cuts(set(), {}, [])
    told: set[NoteKey] = set()
    for key, event in timeline(part).by_key.items():
        begin = starts[key[0]] + event.onset
        for index, note in enumerate(event.notes):
            name = (*key, index)
            first = chain.get(name, name)
            limit = limits.get(first)
            if name in gone or limit is None or begin + event.duration <= limit:
                continue
            if begin >= limit and name != first:
                cuts.dropped.add(name)
            else:
                cuts.ends[key] = limit - begin
            if first not in told:
                told.add(first)
                text = f"{note.pitch} ends where the next note begins"
                cuts.lines.append(log.at(key[0], event.onset, text))
    return cuts


def _limits(part: Part, gone: set[NoteKey]) -> dict[NoteKey, int]:
    """Return, for each first note of a chain of ties, the tick at which the next one begins."""
    starts = timeline(part).starts
    begun: list[tuple[int, int, NoteKey]] = []
    for (index, tick, grace), struck in timeline(part).struck.items():
        begun += [(starts[index] + tick, grace, one.key) for one in struck]
    for key in loose_stops(part):
        event = part.measures[key[0]].voices[key[1]].events[key[2]]
        begun.append((starts[key[0]] + event.onset, 0, key))
    kept = sorted(one for one in begun if one[2] not in gone)
    limits: dict[NoteKey, int] = {}
    for (now, grace, key), (following, next_grace, _) in pairwise(kept):
        if (now, grace) != (following, next_grace):
            limits[key] = following
    return limits


def _shortened(part: Part, ends: dict[EventKey, int]) -> Part:
    """Return the part with some events ending early; their printed values come later."""
    if not ends:
        return part
    return map_keyed(part, lambda key, event: _ending(event, ends[key]) if key in ends else event)


def _ending(event: Event, duration: int) -> Event:
    notes = tuple(replace(note, tie_start=False) for note in event.notes)
    return replace(event, duration=duration, notes=notes)


def _tidy(measure: Measure) -> tuple[Voice, ...]:
    """Return the voices that have notes, or all if none has."""
    kept = tuple(v for v in measure.voices if any(event.notes for event in v.events))
    return kept or measure.voices


def _merged(measure: Measure, writer: NotationWriter) -> tuple[Voice, ...]:
    """Return the one voice that the sounding voices make, and those of other notes."""
    sounding = _sounding(measure)
    others = [
        voice
        for voice in measure.voices
        if voice not in sounding and any(event.notes for event in voice.events)
    ]
    timed = [
        (moment, _at(voice.events[index], moment[0]))
        for voice in sounding
        for moment, index in moments(voice.events)
        if _sounds(voice.events[index])
    ]
    events = [event for _, event in sorted(timed, key=lambda one: one[0])]
    plain = [_plain(event) for event in events]
    return (Voice(sounding[0].id, writer.beamed(list(writer.filled(plain)))), *others)


def _at(event: Event, onset: int) -> Event:
    """Return the event where it counts: a grace note may lean on what comes after a cue note."""
    return event if event.onset == onset else replace(event, onset=onset)


def _sounds(event: Event) -> bool:
    return not event.is_cue and any(note.pitch is not None for note in event.notes)


def _plain(event: Event) -> Event:
    """Return the event without what is drawn anew: beams, stem and tuplet brackets."""
    marks = tuple(mark for mark in event.marks if mark.family != "tuplet")
    return replace(event, beams=(), stem="", marks=marks)
