"""Writes the voices of a part anew after `simplify-rhythm` has moved their strokes.

A note lasts to the next one of its voice, or to where it ended, rounded to the grid; a silence
shorter than a slot is no rest.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace

from variants.music import NoteValue
from variants.score import Event, Mark, Note, Part
from variants.score.spell import spell
from variants.steps.rhythm.grid import Grid
from variants.steps.rhythm.lines import Group, HeldNote, Lines
from variants.steps.rhythm.measure import measure_with


@dataclass(frozen=True, slots=True)
class _Laid:
    """A group at its new time, with the new end of each of its notes."""

    time: int
    group: Group
    ends: tuple[int, ...]

    @property
    def end(self) -> int:
        return max(self.ends, default=self.time)


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
    sounding: tuple[tuple[HeldNote, _Laid, int], ...]
    laid: _Laid


def rewritten(part: Part, lines: Lines, moves: dict[int, int], grid: Grid) -> Part:
    """Return the part with its groups at their new times.

    Args:
        part: The part as it was.
        lines: Its voices without what is dropped.
        moves: New time by old time, of strokes.
        grid: The grid, in the ticks of the part.
    """
    slots = sorted({slot for bar in grid.bars for slot in bar.slots} | {grid.bars[-1].end})
    made: list[dict[str, list[Event]]] = [{} for _ in part.measures]
    starts = [bar.start for bar in grid.bars]
    for voice, line in lines.voices.items():
        written = _written_lengths(part, voice, grid)
        for piece in _pieces(_lay(line, moves, slots)):
            index = bisect_right(starts, piece.start) - 1
            for place, event in _written(piece, index, grid, written):
                made[place].setdefault(voice, []).append(event)
    for (index, voice), graces in lines.tails.items():
        made[index].setdefault(voice, []).extend(graces)
    return replace(
        part,
        measures=tuple(
            measure_with(measure, bar, grid, events)
            for measure, bar, events in zip(part.measures, grid.bars, made, strict=True)
        ),
    )


# --- new times and ends ---------------------------------------------------------------------------


def _lay(line: list[Group], moves: dict[int, int], slots: list[int]) -> list[_Laid]:
    placed = _placed(line, moves, slots)
    old = [group.time for _, group in placed]
    new = [time for time, _ in placed]
    found: list[_Laid] = []
    for index, (time, group) in enumerate(placed):
        # Notes of one chord that end before the same next one end together.
        until: dict[int, int] = {}
        afters: list[int] = []
        for chain in group.chains:
            after = max(bisect_left(old, chain.end), index + 1)
            afters.append(after)
            end = _release(chain.end, after, (old, new), slots)
            until[after] = max(end, until.get(after, 0))
        found.append(_Laid(time, group, tuple(until[after] for after in afters)))
    return found


def _placed(line: list[Group], moves: dict[int, int], slots: list[int]) -> list[tuple[int, Group]]:
    """Return the groups with their new times; what is only held fits in between."""
    found: list[tuple[int, Group]] = []
    strokes = [moves[group.time] for group in line if group.time in moves]
    passed = 0
    for group in line:
        if group.time in moves:
            passed += 1
            found.append((moves[group.time], group))
            continue
        time = _nearest(slots, group.time)
        coming = strokes[passed] if passed < len(strokes) else slots[-1]
        if time < coming and (not found or time > found[-1][0]):
            found.append((time, group))
    return found


def _release(end: int, after: int, times: tuple[list[int], list[int]], slots: list[int]) -> int:
    """Return the new end of a note: ``after`` is the place of the group that follows its end."""
    old, new = times
    earliest = _next(slots, new[after - 1])
    until = max(_nearest(slots, end), earliest)
    if after == len(old):
        return until
    limit = new[after]
    if old[after] == end or until >= limit or _next(slots, until) > limit:
        return limit
    return until


def _nearest(slots: list[int], time: int) -> int:
    place = bisect_left(slots, time)
    if place == len(slots):
        return slots[-1]
    if place and time - slots[place - 1] < slots[place] - time:
        return slots[place - 1]
    return slots[place]


def _next(slots: list[int], time: int) -> int:
    place = bisect_right(slots, time)
    return slots[place] if place < len(slots) else slots[-1]


# --- pieces ---------------------------------------------------------------------------------------


def _pieces(line: list[_Laid]) -> list[_Piece]:
    """Cut a voice wherever the set of sounding notes changes."""
    begun = {laid.time: laid for laid in line}
    cuts = sorted(set(begun) | {end for laid in line for end in laid.ends})
    found: list[_Piece] = []
    active: list[tuple[HeldNote, _Laid, int]] = []
    last: _Laid | None = None
    for place, start in enumerate(cuts):
        active = [one for one in active if one[2] > start]
        laid = begun.get(start)
        if laid is not None:
            last = laid
            chains = laid.group.chains
            active += [(chain, laid, end) for chain, end in zip(chains, laid.ends, strict=True)]
        if last is not None and (active or laid is not None):
            end = cuts[place + 1] if place + 1 < len(cuts) and active else start
            found.append(_Piece(start, end, tuple(active), last))
    return found


def _written_lengths(part: Part, voice: str, grid: Grid) -> dict[tuple[int, int], NoteValue]:
    """Return the value of each note event of a voice by its start and end in the part."""
    return {
        (bar.start + event.onset, bar.start + event.end): event.value
        for measure, bar in zip(part.measures, grid.bars, strict=True)
        for one in measure.voices
        if one.id == voice
        for event in one.events
        if event.notes and event.grace is None and event.value.type
    }


def _written(
    piece: _Piece, index: int, grid: Grid, written: dict[tuple[int, int], NoteValue]
) -> Iterator[tuple[int, Event]]:
    """Yield (measure index, event) for a piece that begins in measure ``index``."""
    group = piece.laid.group
    if piece.laid.time == piece.start:
        tick = piece.start - grid.bars[index].start
        for grace in group.graces:
            yield index, replace(grace, onset=tick)
    start = piece.start
    while start < piece.end:
        bar = grid.bars[index]
        end = min(piece.end, bar.end)
        tick, duration = start - bar.start, end - start
        known = written.get((start, end))
        if known is not None:
            values: tuple[tuple[int, int, NoteValue], ...] = ((tick, duration, known),)
        elif duration:
            values = spell(tick, duration, bar.metre, ticks=grid.ticks, shift=bar.shift)
        else:
            values = ()  # a measure without length
        for at, length, value in values:
            yield index, replace(_event(piece, bar.start + at, length, value), onset=at)
        start = end
        index += 1


def _event(piece: _Piece, start: int, duration: int, value: NoteValue) -> Event:
    laid = piece.laid
    head = laid.group.head
    end = start + duration
    is_first = start == laid.time
    marks = list(laid.group.marks) if is_first else []
    ending = {id(one): one for _, one, _ in piece.sounding if one.end == end}
    for one in ending.values():
        marks = _together(marks, one.group.tail_marks)
    stem = "" if head.stem == "none" or value.type in {"whole", "breve", "long"} else head.stem
    return Event(
        start,
        duration,
        value,
        tuple(
            _note(chain, (one.time, until), (start, end)) for chain, one, until in piece.sounding
        ),
        head.staff,
        None,
        head.is_cue,
        stem=stem,
        marks=tuple(marks),
        lyrics=tuple(laid.group.lyrics) if is_first else (),
        extras=head.extras if is_first else (),
    )


def _together(marks: list[Mark], tail: list[Mark]) -> list[Mark]:
    """Return the marks of a note written once; a slur from itself to itself is none."""
    spans = {(one.family, one.name, one.number) for one in marks if one.role == "start"}
    loops = {
        (one.family, one.name, one.number)
        for one in tail
        if one.role == "stop" and (one.family, one.name, one.number) in spans
    }
    return [
        one
        for one in (*marks, *tail)
        if one.role not in {"start", "stop"} or (one.family, one.name, one.number) not in loops
    ]


def _note(chain: HeldNote, life: tuple[int, int], now: tuple[int, int]) -> Note:
    note = chain.note
    tie_stop = now[0] > life[0] or chain.from_before
    tie_start = now[1] < life[1] or chain.goes_on
    tail = tuple(chain.tail_marks) if now[1] == life[1] else ()
    if now[0] == life[0]:
        return replace(note, tie_stop=tie_stop, tie_start=tie_start, marks=(*note.marks, *tail))
    heads = tuple(extra for extra in note.extras if extra.name == "notehead")
    return Note(
        note.pitch, tie_stop, tie_start, note.place, staff=note.staff, marks=tail, extras=heads
    )
