"""Puts the notes that `simplify-rhythm` has moved into their measure: rests, tuplets, beams."""

from __future__ import annotations

from dataclasses import replace
from math import gcd

from variants.music import NoteValue
from variants.score import Event, Mark, Measure, Voice
from variants.score.beams import beams
from variants.score.spell import spell
from variants.steps.rhythm.grid import Grid, GridMeasure

_TUPLET = {
    role: Mark("tuplet", "tuplet", role, "1", f'<tuplet number="1" type="{role}"/>')
    for role in ("start", "stop")
}


def measure_with(
    measure: Measure, bar: GridMeasure, grid: Grid, made: dict[str, list[Event]]
) -> Measure:
    """Return the measure with other notes in its voices, rests and beams made to fit.

    A voice in which no note has changed stays as it was printed.

    Args:
        measure: The measure as it was.
        bar: The same as the grid sees it.
        grid: The grid, in the ticks of the measure.
        made: The notes of each voice, grace notes too, in order of time.
    """
    known = {voice.id for voice in measure.voices}
    voices = [
        _voice(voice, made.get(voice.id, []), bar, grid, is_first=not place)
        for place, voice in enumerate(measure.voices)
    ]
    voices += [
        _voice(Voice(name, ()), events, bar, grid, is_first=False)
        for name, events in made.items()
        if name not in known
    ]
    if tuple(voices) == measure.voices:
        return measure
    return replace(measure, voices=tuple(voices))


def _voice(
    voice: Voice, events: list[Event], bar: GridMeasure, grid: Grid, *, is_first: bool
) -> Voice:
    notes = [event for event in voice.events if event.notes or event.grace is not None]
    if list(map(_timing, notes)) == list(map(_timing, events)):
        return _as_printed(voice, notes, events)
    rests = [event for event in voice.events if not event.notes and event.grace is None]
    full = [*events]
    if is_first or rests or _covers(voice, bar):
        full = _with_rests(events, rests, bar, grid)
    full = _with_tuplets(full, bar, grid)
    values = beams(full, bar.metre, ticks=grid.ticks, shift=bar.shift)
    return Voice(
        voice.id,
        tuple(
            event if event.beams == value else replace(event, beams=value)
            for event, value in zip(full, values, strict=True)
        ),
    )


def _timing(event: Event) -> tuple[object, ...]:
    heights = sorted(
        (
            note.pitch.semitones if note.pitch is not None else -1,
            note.tie_stop,
            note.tie_start,
        )
        for note in event.notes
    )
    return event.onset, event.duration, event.grace is None, heights


def _as_printed(voice: Voice, notes: list[Event], events: list[Event]) -> Voice:
    """Return the voice as it was, with the marks and syllables that it has now."""
    now = {id(old): new for old, new in zip(notes, events, strict=True)}
    found: list[Event] = []
    for old in voice.events:
        new = now.get(id(old), old)
        tuplets = tuple(mark for mark in old.marks if mark.family == "tuplet")
        others = tuple(mark for mark in old.marks if mark.family != "tuplet")
        note_marks = {mark for note in old.notes for mark in note.marks}
        if note_marks != {mark for note in new.notes for mark in note.marks}:
            old = replace(old, notes=new.notes)  # noqa: PLW2901
        if new is not old and (set(others) != set(new.marks) or old.lyrics != new.lyrics):
            plain = tuple(mark for mark in new.marks if mark.family != "tuplet")
            old = replace(old, marks=(*tuplets, *plain), lyrics=new.lyrics)  # noqa: PLW2901
        found.append(old)
    return Voice(voice.id, tuple(found))


def _covers(voice: Voice, bar: GridMeasure) -> bool:
    return sum(event.duration for event in voice.events) == bar.length


def _with_rests(
    events: list[Event], rests: list[Event], bar: GridMeasure, grid: Grid
) -> list[Event]:
    model = rests[0] if rests else None
    hidden = model is not None and all(
        any(extra.name == "@print-object" for extra in rest.extras) for rest in rests
    )
    staff = model.staff if model else (events[0].staff if events else 1)
    extras = model.extras if model is not None and hidden else ()
    whole = bar.metre.is_measured and bar.length == bar.metre.quarters * grid.ticks
    if not any(event.notes for event in events) and whole:
        rest = Event(0, bar.length, NoteValue(), (), staff, is_measure_rest=True, extras=extras)
        return [*(event for event in events if event.onset < bar.length), rest] + [
            event for event in events if event.onset >= bar.length
        ]
    # A silence that no value writes stays as the source has it.
    nameless = {(rest.onset, rest.end): rest for rest in rests if not rest.value.type}
    found: list[Event] = []
    clock = 0
    for event in [*events, None]:
        until = event.onset if event is not None else bar.length
        if (clock, until) in nameless:
            found.append(nameless[clock, until])
        elif clock < until:
            pieces = spell(
                clock, until - clock, bar.metre, ticks=grid.ticks, shift=bar.shift, rest=True
            )
            found += [
                Event(tick, duration, value, (), staff, extras=extras)
                for tick, duration, value in pieces
            ]
        if event is not None:
            found.append(event)
            clock = event.end
    return found


def _with_tuplets(events: list[Event], bar: GridMeasure, grid: Grid) -> list[Event]:
    """Bracket each run of tuplet notes from where it leaves the plain beat to where it returns."""
    found = [*events]
    run: list[int] = []
    for index, event in enumerate(events):
        if not event.value.is_tuplet or event.grace is not None:
            run = []
            continue
        run.append(index)
        below = grid.ticks // gcd(event.end + bar.shift, grid.ticks)
        if below & (below - 1) == 0:
            if len(run) > 1:
                for place, role in ((run[0], "start"), (run[-1], "stop")):
                    marked = found[place]
                    found[place] = replace(marked, marks=(*marked.marks, _TUPLET[role]))
            run = []
    return found
