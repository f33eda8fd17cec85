"""Drop notes from a part and leave no tie, slur or beam without its other end."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field, replace

from variants.score import (
    Change,
    Event,
    EventKey,
    Mark,
    Measure,
    Note,
    NoteKey,
    Part,
    Voice,
    timeline,
)
from variants.steps.framework.log import count
from variants.steps.lines.links import MarkKey, span_links

# Marks that may stand on a rest.
_ON_RESTS = frozenset({"tuplet", "fermata"})


@dataclass(slots=True)
class _Losses:
    """What goes with the notes."""

    marks: Counter[str] = field(default_factory=Counter)
    spans: Counter[str] = field(default_factory=Counter)
    syllables: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Plan:
    """All that changes: notes and marks to drop, tie flags to clear."""

    notes: frozenset[NoteKey]
    untied: frozenset[NoteKey]
    marks: frozenset[MarkKey]


def drop_notes(part: Part, dropped: set[NoteKey], *, step: str) -> tuple[Part, list[Change]]:
    """Return the part without some notes, and the lines that say what went with them.

    An event that loses all its notes becomes a rest, a grace event disappears. What a dropped
    note is tied to is dropped as well; a tie to a dropped note, and the rest of a slur, are
    taken away. Event and voice indices of what stays are unchanged, grace events aside.

    Args:
        part: The part.
        dropped: Keys of the notes.
        step: Name of the step, for the change log.
    """
    if not dropped:
        return part, []
    losses = _Losses()
    plan = _plan(part, _with_graces(part, dropped), losses)
    measures = tuple(
        _measure(index, measure, plan, losses) for index, measure in enumerate(part.measures)
    )
    return replace(part, measures=measures), _lines(losses, part, step)


def _with_graces(part: Part, dropped: set[NoteKey]) -> set[NoteKey]:
    """Add the grace notes before one that disappears: they would take its place in time."""
    found = set(dropped)
    for index, measure in enumerate(part.measures):
        for voice_index, voice in enumerate(measure.voices):
            losing = False
            for event_index in range(len(voice.events) - 1, -1, -1):
                event = voice.events[event_index]
                keys = [(index, voice_index, event_index, n) for n in range(len(event.notes))]
                if event.grace is None:
                    losing = losing and event.is_cue
                elif losing or (keys and found.issuperset(keys)):
                    losing = True
                    found.update(keys)
    return found


def _plan(part: Part, dropped: set[NoteKey], losses: _Losses) -> _Plan:
    untied: set[NoteKey] = set()
    for stop, start in timeline(part).ties.items():
        # Links come in order of time, so a whole chain falls with its first note.
        if start in dropped:
            dropped.add(stop)
        elif stop in dropped:
            untied.add(start)
    silent = {
        key
        for key, event in timeline(part).by_key.items()
        if event.notes and all((*key, index) in dropped for index in range(len(event.notes)))
    }
    marks: set[MarkKey] = set()
    for span in span_links(part):
        if any(_is_gone(part, mark, dropped, silent) for mark in span):
            marks.update(span)
            event = _event(part, span[0][0])
            losses.spans[_mark(event, span[0]).name] += 1
    return _Plan(frozenset(dropped), frozenset(untied), frozenset(marks))


def _event(part: Part, key: EventKey) -> Event:
    return part.measures[key[0]].voices[key[1]].events[key[2]]


def _mark(event: Event, key: MarkKey) -> Mark:
    return event.marks[key[2]] if key[1] < 0 else event.notes[key[1]].marks[key[2]]


def _is_gone(part: Part, key: MarkKey, dropped: set[NoteKey], silent: set[EventKey]) -> bool:
    event_key, owner, _ = key
    if owner >= 0:
        return (*event_key, owner) in dropped
    if event_key not in silent:
        return False
    event = _event(part, event_key)
    return event.grace is not None or _mark(event, key).family not in _ON_RESTS


def _measure(index: int, measure: Measure, plan: _Plan, losses: _Losses) -> Measure:
    voices = tuple(
        _voice((index, place), voice, plan, losses) for place, voice in enumerate(measure.voices)
    )
    return replace(measure, voices=voices) if voices != measure.voices else measure


def _voice(where: tuple[int, int], voice: Voice, plan: _Plan, losses: _Losses) -> Voice:
    events: list[Event] = []
    silenced = False
    for index, event in enumerate(voice.events):
        changed = _changed((*where, index), event, plan, losses)
        if event.notes and not changed.notes:
            silenced = True
            if event.grace is not None:
                continue
        events.append(changed)
    if silenced:
        # A beam with a hole would end nowhere.
        events = [replace(event, beams=()) if event.beams else event for event in events]
    return Voice(voice.id, tuple(events))


def _changed(key: EventKey, event: Event, plan: _Plan, losses: _Losses) -> Event:
    notes = tuple(
        _note((*key, index), note, plan)
        for index, note in enumerate(event.notes)
        if (*key, index) not in plan.notes
    )
    marks = tuple(
        mark for index, mark in enumerate(event.marks) if (key, -1, index) not in plan.marks
    )
    if event.notes and not notes:
        return _rest(event, marks, losses)
    if notes == event.notes and marks == event.marks:
        return event
    return replace(event, notes=notes, marks=marks)


def _note(key: NoteKey, note: Note, plan: _Plan) -> Note:
    event_key, owner = key[:3], key[3]
    marks = tuple(
        mark for index, mark in enumerate(note.marks) if (event_key, owner, index) not in plan.marks
    )
    tie_start = note.tie_start and key not in plan.untied
    if marks == note.marks and tie_start == note.tie_start:
        return note
    return replace(note, marks=marks, tie_start=tie_start)


def _rest(event: Event, marks: tuple[Mark, ...], losses: _Losses) -> Event:
    losses.marks.update(mark.name for mark in marks if mark.family not in _ON_RESTS)
    losses.syllables += [lyric.text for lyric in event.lyrics if lyric.text]
    return replace(
        event,
        notes=(),
        stem="",
        lyrics=(),
        extras=(),
        marks=tuple(mark for mark in marks if mark.family in _ON_RESTS),
    )


def _lines(losses: _Losses, part: Part, step: str) -> list[Change]:
    lines = [
        f"{count(number, name)} dropped: a note at one end is gone"
        for name, number in sorted(losses.spans.items())
    ]
    lines += [
        f"{count(number, name)} dropped with the notes"
        for name, number in sorted(losses.marks.items())
    ]
    if losses.syllables:
        lines.append(f"syllables dropped with their notes: {' '.join(losses.syllables)}")
    return [Change(line, step, part=part.id) for line in lines]
