"""Writes the voices of a part anew after `simplify-rhythm` has moved what begins in them.

A note lasts to the next one of its voice, or to where it ended, rounded to the grid; a silence
between two slots is no rest, one on a slot stays.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

from variants.music import NoteValue
from variants.score import Event, Mark, Measure, Note, Part, Voice
from variants.score.edit import with_voices
from variants.score.notation import NotationWriter, held_on
from variants.steps.rhythm.grid import Grid
from variants.steps.rhythm.lines import Group, HeldNote, Lines

_Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Laid:
    """A group at its new time, with the new end of each of its notes."""

    time: int
    group: Group
    ends: tuple[int, ...]

    @property
    def end(self) -> int:
        """When the last of its notes is over."""
        return max(self.ends, default=self.time)


def lay(
    line: list[Group], moves: dict[int, int], grid: Grid, exact: Collection[int] = ()
) -> list[Laid]:
    """Return the groups of a voice at their new times with their new ends.

    Args:
        line: The groups in order of time.
        moves: New time by old time; what is not in it stays.
        grid: The grid.
        exact: Indices of measures in which notes end where they ended.
    """
    slots = grid.rests
    old = [group.time for group in line]
    new = [moves.get(time, time) for time in old]
    found: list[Laid] = []
    for index, (time, group) in enumerate(zip(new, line, strict=True)):
        # Notes of one chord that end before the same next one end together.
        latest: dict[int, int] = {}
        ends: list[int] = []
        for chain in group.chains:
            after = max(bisect_left(old, chain.end), index + 1)
            if grid.measure_at(chain.end - 1) in exact:
                limit = new[after] if after < len(new) else grid.end
                meets = after < len(old) and old[after] == chain.end
                ends.append(limit if meets else min(chain.end, limit))
            else:
                latest[after] = max(
                    _release(chain.end, after, (old, new), slots), latest.get(after, 0)
                )
                ends.append(-after)
        found.append(Laid(time, group, tuple(latest[-end] if end < 0 else end for end in ends)))
    return found


def _release(end: int, after: int, times: tuple[list[int], list[int]], slots: list[int]) -> int:
    """Return the new end of a note: ``after`` is the place of the group that follows its end."""
    old, new = times
    # A note that begins between two slots lasts to the next one at least.
    least = bisect_right(slots, new[after - 1])
    until = max(_nearest(slots, end), slots[min(least, len(slots) - 1)])
    if after == len(old):
        return until
    place = bisect_left(slots, end)
    is_silent_on_a_slot = place < len(slots) and slots[place] < old[after]
    return min(until, new[after]) if is_silent_on_a_slot else new[after]


def _nearest(slots: list[int], time: int) -> int:
    place = bisect_left(slots, time)
    if place == len(slots):
        return slots[-1]
    if place and time - slots[place - 1] < slots[place] - time:
        return slots[place - 1]
    return slots[place]


# --- measures -------------------------------------------------------------------------------------


def rewritten(
    part: Part, lines: Lines, moves: dict[int, int], *, grid: Grid, exact: Collection[int]
) -> Part:
    """Return the part with its groups at their new times.

    Args:
        part: The part as it was.
        lines: Its voices without what is dropped.
        moves: New time by old time.
        grid: The grid.
        exact: Indices of measures that are written as they were, as far as their notes allow.
    """
    made: list[dict[str, list[Event]]] = [{} for _ in part.measures]
    for voice, line in lines.voices.items():
        printed = _printed(part, voice, grid)
        cuts = {edge for span in printed for edge in span if grid.measure_at(span[0]) in exact}
        for piece in _pieces(lay(line, moves, grid, exact), cuts):
            for index, event in _written(piece, grid, printed):
                made[index].setdefault(voice, []).append(event)
    for (index, voice), graces in lines.tails.items():
        made[index].setdefault(voice, []).extend(graces)
    measures = tuple(
        _measure(measure, bar.writer, events)
        for measure, bar, events in zip(part.measures, grid.bars, made, strict=True)
    )
    return replace(part, measures=measures)


def _printed(part: Part, voice: str, grid: Grid) -> dict[_Span, NoteValue]:
    """Return the value of each note event of a voice by its start and end in the part."""
    return {
        (bar.start + event.onset, bar.start + event.end): event.value
        for measure, bar in zip(part.measures, grid.bars, strict=True)
        for one in measure.voices
        if one.id == voice
        for event in one.events
        if event.notes and event.grace is None and event.value.type
    }


@dataclass(frozen=True, slots=True)
class _Piece:
    """A stretch of one voice in which the same notes sound.

    Args:
        start: Ticks from the start of the part.
        end: See ``start``.
        sounding: For each note: its chain, the group with which it begins, and its end.
        laid: The group that begins here, if one does; else the last one that began.
    """

    start: int
    end: int
    sounding: tuple[tuple[HeldNote, Laid, int], ...]
    laid: Laid


def _pieces(line: list[Laid], cuts: Collection[int]) -> Iterator[_Piece]:
    """Cut a voice wherever the set of sounding notes changes, and at further times."""
    begun = {laid.time: laid for laid in line}
    times = sorted({*begun, *(end for laid in line for end in laid.ends), *cuts})
    active: list[tuple[HeldNote, Laid, int]] = []
    last: Laid | None = None
    for place, start in enumerate(times):
        active = [one for one in active if one[2] > start]
        laid = begun.get(start)
        if laid is not None:
            last = laid
            chains = laid.group.chains
            active += [(chain, laid, end) for chain, end in zip(chains, laid.ends, strict=True)]
        if last is not None and (active or laid is not None):
            end = times[place + 1] if place + 1 < len(times) and active else start
            yield _Piece(start, end, tuple(active), last)


def _written(
    piece: _Piece, grid: Grid, printed: dict[_Span, NoteValue]
) -> Iterator[tuple[int, Event]]:
    """Yield (measure index, event) for a piece, cut at the barlines."""
    index = grid.measure_at(piece.start)
    if piece.laid.time == piece.start:
        for grace in piece.laid.group.graces:
            yield index, replace(grace, onset=piece.start - grid.bars[index].start)
    start = piece.start
    while start < piece.end:
        bar = grid.bars[index]
        end = min(piece.end, bar.end)
        if end > start:
            value = printed.get((start, end), NoteValue(""))
            event, tail = _event(piece, (start, end), value)
            *firsts, last = bar.writer.tied(replace(event, onset=start - bar.start))
            for one in firsts:
                yield index, one
            yield index, _with_tail(last, tail, piece, end)
        start, index = end, index + 1


def _event(piece: _Piece, span: _Span, value: NoteValue) -> tuple[Event, list[Mark]]:
    """Return what is written of a piece in one measure, and the marks of its last note."""
    laid = piece.laid
    head = laid.group.head
    is_first = span[0] == laid.time
    notes = tuple(_note(chain, (one.time, end), span) for chain, one, end in piece.sounding)
    ending = {id(one): one for _, one, _ in piece.sounding if one.end == span[1]}
    tail = [mark for one in ending.values() for mark in one.group.tail_marks]
    stem = "" if head.stem == "none" else head.stem
    event = Event(
        span[0],
        span[1] - span[0],
        value,
        notes,
        head.staff,
        None,
        head.is_cue,
        stem=stem,
        marks=tuple(laid.group.marks) if is_first else (),
        lyrics=tuple(laid.group.lyrics) if is_first else (),
        extras=head.extras if is_first else (),
    )
    return event, tail


def _note(chain: HeldNote, life: _Span, now: _Span) -> Note:
    note = chain.note
    tie_start = now[1] < life[1] or chain.goes_on
    if now[0] > life[0]:
        (note,) = held_on(Event(0, 0, NoteValue(""), (note,))).notes
        return replace(note, tie_start=tie_start)
    return replace(note, tie_stop=chain.from_before, tie_start=tie_start)


def _with_tail(event: Event, tail: list[Mark], piece: _Piece, end: int) -> Event:
    """Return the last written event with the marks that end there."""
    own = [tuple(chain.tail_marks) if until == end else () for chain, _, until in piece.sounding]
    if any(own):
        pairs = zip(event.notes, own, strict=True)
        notes = tuple(replace(note, marks=(*note.marks, *marks)) for note, marks in pairs)
        event = replace(event, notes=notes)
    return replace(event, marks=_together(event.marks, tail)) if tail else event


def _together(marks: tuple[Mark, ...], tail: list[Mark]) -> tuple[Mark, ...]:
    """Return the marks of a note written once; a slur from itself to itself is none."""

    def ends(some: Collection[Mark], role: str) -> set[tuple[str, str, str]]:
        return {(one.family, one.name, one.number) for one in some if one.role == role}

    loops = ends(marks, "start") & ends(tail, "stop")
    return tuple(
        one
        for one in (*marks, *tail)
        if one.role not in {"start", "stop"} or (one.family, one.name, one.number) not in loops
    )


def _measure(measure: Measure, writer: NotationWriter, made: dict[str, list[Event]]) -> Measure:
    """Return the measure with other notes in its voices, rests and beams made to fit.

    A voice in which no note has changed stays as it was printed.
    """
    known = {voice.id for voice in measure.voices}
    voices = [
        _voice(voice, made.get(voice.id, []), writer, is_first=not place)
        for place, voice in enumerate(measure.voices)
    ]
    voices += [
        _voice(Voice(name, ()), events, writer, is_first=False)
        for name, events in made.items()
        if name not in known
    ]
    return measure if tuple(voices) == measure.voices else with_voices(measure, tuple(voices))


def _voice(voice: Voice, events: list[Event], writer: NotationWriter, *, is_first: bool) -> Voice:
    notes = [event for event in voice.events if event.notes or event.grace is not None]
    if list(map(_timing, notes)) == list(map(_timing, events)):
        return _as_printed(voice, notes, events)
    rests = [event for event in voice.events if not event.notes and event.grace is None]
    full = [*events]
    covers = sum(event.duration for event in voice.events) == writer.length
    if is_first or rests or covers:
        hidden = rests and all(
            any(extra.name == "@print-object" for extra in rest.extras) for rest in rests
        )
        like = rests[0] if rests else None
        if like is not None and not hidden:
            like = replace(like, extras=())
        # A silence that no value writes stays as the source has it.
        kept = [rest for rest in rests if not rest.value.type and not rest.is_measure_rest]
        full = list(writer.filled(events, like=like, kept=kept))
    return Voice(voice.id, writer.beamed(writer.bracketed(full)))


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
