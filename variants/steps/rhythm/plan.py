"""Where each onset of a part goes on the grid.

An onset on the grid stays. What lies between two of those moves to the free slots between them,
later rather than earlier: a syncopation is an onset with nothing at the next stronger moment,
and moving it there undoes it (Sioros 2015 treats de-syncopation as such a transformation; the
direction is common practice). Where there are more onsets than slots, ``keep=all`` refines the
grid as little as it can, and ``keep=strong`` lets the weakest go. Both are one shortest path over
the slots of each stretch.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from variants.music.pitch import Alteration, Pitch
from variants.score import Part
from variants.steps.rhythm.grid import Grid
from variants.steps.rhythm.lines import Group, Lines

# One onset on a refined slot costs more than any number on coarser ones.
_LEVEL = 256
# Moving earlier is half as dear again as moving later.
_LATER, _EARLIER = 2, 3
_SECTION_STYLES = frozenset({"light-light", "light-heavy", "heavy", "heavy-heavy"})
# How far the grid is refined for the few strokes that stay whatever is dropped.
FIXED_DEPTH = 3


@dataclass(frozen=True, slots=True)
class PlannedStroke:
    """What begins together in a part, in all voices.

    Args:
        time: Ticks from the start of the part.
        measure: Index of the measure.
        heights: MIDI heights that are struck, ascending; grace notes not included.
        names: Names of the pitches, for people.
        end: Ticks at which the last of its notes is over.
        weight: How much is lost if it is dropped.
        is_sung: It carries a syllable.
        is_fixed: It opens or closes the piece or a section of it, or has a fermata: it stays,
            between the slots if it must.
        may_cross: It is held over the barline, so it may move to the next downbeat.
    """

    time: int
    measure: int
    heights: tuple[Alteration, ...]
    names: tuple[str, ...]
    end: int
    weight: int
    is_sung: bool
    is_fixed: bool
    may_cross: bool


@dataclass(frozen=True, slots=True)
class RhythmPlan:
    """Old time to new time of every stroke, in ticks from the start of the part.

    Args:
        moves: New time by old time.
        dropped: Strokes that go, with the reason.
        refined: Strokes that stand between slots because the slots are taken.
    """

    moves: dict[int, int]
    dropped: tuple[tuple[PlannedStroke, str], ...]
    refined: tuple[PlannedStroke, ...]


# --- strokes --------------------------------------------------------------------------------------


def strokes_of(part: Part, lines: Lines, grid: Grid, *, factor: int) -> list[PlannedStroke]:
    """Return the strokes of a part in order of time, in the ticks of the grid."""
    together: dict[int, list[Group]] = {}
    for group in lines.groups():
        if group.is_stroke:
            together.setdefault(group.time * factor, []).append(group)
    ends = {time: max(one.end for one in together[time]) * factor for time in together}
    times = sorted(together)
    found: list[PlannedStroke] = []
    silent_from = -1
    blocked = _blocked(part, lines)
    fixed = _section_ends(part, grid, times)
    for place, time in enumerate(times):
        groups = together[time]
        index = groups[0].measure
        bar = grid.bars[index]
        pitches = sorted(_pitches(groups), key=lambda one: one.semitones)
        after = times[place + 1] if place + 1 < len(times) else None
        # A silence of a beat parts two phrases.
        edge = time - silent_from >= grid.ticks or (
            after is not None and after - ends[time] >= grid.ticks
        )
        is_fixed = time in fixed or _has_fermata(groups)
        found.append(
            PlannedStroke(
                time,
                index,
                tuple(one.semitones for one in pitches),
                tuple(map(str, pitches)),
                ends[time],
                _weight(part, groups, grid, time=time, edge=edge or is_fixed, factor=factor),
                any(lyric.text for group in groups for lyric in group.lyrics),
                is_fixed,
                ends[time] > bar.end and index not in blocked,
            )
        )
        silent_from = max(silent_from, ends[time])
    return found


def _pitches(groups: Iterable[Group]) -> list[Pitch]:
    return [
        chain.note.pitch
        for group in groups
        for chain in group.chains
        if chain.note.pitch is not None and not chain.from_before
    ]


def _blocked(part: Part, lines: Lines) -> set[int]:
    """Return the measures whose last notes may not move over the barline."""
    found = {len(part.measures) - 1} | {index for index, _ in lines.tails}
    for index, measure in enumerate(part.measures):
        for barline in measure.barlines:
            if barline.repeat or barline.ending:
                found.add(index - 1 if barline.location == "left" else index)
    return found


def _section_ends(part: Part, grid: Grid, times: list[int]) -> set[int]:
    """Return the times of the first and last stroke, and of the last before a section ends."""
    if not times:
        return set()
    found = {times[0], times[-1]}
    for measure, bar in zip(part.measures, grid.bars, strict=True):
        for barline in measure.barlines:
            if barline.location != "left" and (barline.repeat or barline.style in _SECTION_STYLES):
                place = bisect_left(times, bar.end)
                if place and times[place - 1] >= bar.start:
                    found.add(times[place - 1])
    return found


def _has_fermata(groups: list[Group]) -> bool:
    return any(
        mark.family == "fermata" for group in groups for mark in (*group.marks, *group.tail_marks)
    )


def _weight(
    part: Part, groups: list[Group], grid: Grid, *, time: int, edge: bool, factor: int
) -> int:
    """Return what a stroke is worth: phrase ends most, then words and chords, then the metre."""
    index = groups[0].measure
    bar = grid.bars[index]
    strength = bar.metre.strength(Fraction(time - bar.start + bar.shift, grid.ticks))
    weight = 13 - strength
    if edge:
        weight += 1000
    if any(lyric.text for group in groups for lyric in group.lyrics):
        weight += 100
    tick = (time - bar.start) // factor
    if any(harmony.onset == tick for harmony in part.measures[index].harmonies):
        weight += 50
    return 1 if all(group.head.is_cue for group in groups) else weight


# --- the plan -------------------------------------------------------------------------------------


def plan(strokes: Sequence[PlannedStroke], grid: Grid, *, keep_all: bool) -> RhythmPlan:
    """Return where every stroke goes."""
    slots = sorted({slot for bar in grid.bars for slot in bar.slots})
    known = set(slots)
    moves = {stroke.time: stroke.time for stroke in strokes if stroke.time in known}
    dropped: list[tuple[PlannedStroke, str]] = []
    stretch: list[PlannedStroke] = []
    last = -1
    for place, stroke in enumerate((*strokes, None)):
        if stroke is not None and stroke.time not in known:
            stretch.append(stroke)
            continue
        after = stroke.time if stroke is not None else None
        if stretch:
            if not keep_all:
                first = place - len(stretch)
                before = strokes[first - 1] if first else None
                stretch, merged = _merged(stretch, before, slots)
                dropped += merged
            for one, new in _assigned(stretch, grid, (last, after), keep_all=keep_all):
                if new is None:
                    dropped.append((one, "no room on the grid"))
                else:
                    moves[one.time] = new
        stretch = []
        last = after if after is not None else last
    refined = tuple(one for one in strokes if one.time in moves and moves[one.time] not in known)
    if keep_all:
        moves |= _tuplets(refined, moves, [*slots, grid.bars[-1].end])
    dropped.sort(key=lambda one: one[0].time)
    return RhythmPlan(moves, tuple(dropped), refined)


def _merged(
    stretch: list[PlannedStroke], before: PlannedStroke | None, slots: list[int]
) -> tuple[list[PlannedStroke], list[tuple[PlannedStroke, str]]]:
    """Take out the strokes that only repeat the one before inside one slot of the grid."""
    kept: list[PlannedStroke] = []
    gone: list[tuple[PlannedStroke, str]] = []
    for stroke in stretch:
        same_slot = before is not None and bisect_right(slots, before.time) == bisect_right(
            slots, stroke.time
        )
        repeats = before is not None and same_slot and before.heights == stroke.heights
        if repeats and stroke.heights and not (stroke.is_sung or stroke.is_fixed):
            gone.append((stroke, "a repeat of the note before"))
            continue
        kept.append(stroke)
        before = stroke
    return kept, gone


_Cost = tuple[int, int]
_Link = tuple[int | None, Any] | None


@dataclass(frozen=True, slots=True)
class _State:
    """The best way to have come to a slot."""

    slot: int
    cost: _Cost
    link: _Link


def _assigned(
    stretch: list[PlannedStroke], grid: Grid, between: tuple[int, int | None], *, keep_all: bool
) -> list[tuple[PlannedStroke, int | None]]:
    """Return the slot of each stroke between two that stay; ``None`` for one that goes."""
    best = [_State(between[0], (0, 0), None)]
    counts: dict[int, int] = {}
    for stroke in stretch:
        counts[stroke.measure] = counts.get(stroke.measure, 0) + 1
    for stroke in stretch:
        may_go = not (keep_all or stroke.is_fixed)
        depth = counts[stroke.measure].bit_length() + 1 if keep_all else FIXED_DEPTH
        places = _candidates(stroke, grid, between, 0 if may_go else depth)
        best = _advance(best, stroke, places, may_go=may_go)
    link = min(best, key=lambda state: state.cost).link
    found: list[int | None] = []
    while link is not None:
        found.append(link[0])
        link = link[1]
    return list(zip(stretch, reversed(found), strict=True))


def _candidates(
    stroke: PlannedStroke, grid: Grid, between: tuple[int, int | None], depth: int
) -> list[tuple[int, int]]:
    """Return (slot, level) of every place that a stroke may take, in order of time."""
    low, high = between
    bar = grid.bars[stroke.measure]
    places = [(slot, 0) for slot in bar.slots]
    if stroke.may_cross:
        places.append((bar.end, 0))
    if depth:
        finer = grid.finer(stroke.measure, depth)
        places += finer
        if all(slot != stroke.time for slot, _ in finer):
            # As a last resort a note stays where it was: that is always possible.
            places.append((stroke.time, depth + 1))
    return sorted(
        (slot, level) for slot, level in places if slot > low and (high is None or slot < high)
    )


def _advance(
    best: list[_State], stroke: PlannedStroke, places: list[tuple[int, int]], *, may_go: bool
) -> list[_State]:
    found: dict[int, _State] = {}
    if may_go:
        for state in best:
            cost = (state.cost[0] + stroke.weight, state.cost[1])
            found[state.slot] = _State(state.slot, cost, (None, state.link))
    cheapest: _State | None = None
    reached = 0
    for slot, level in places:
        while reached < len(best) and best[reached].slot < slot:
            if cheapest is None or best[reached].cost < cheapest.cost:
                cheapest = best[reached]
            reached += 1
        if cheapest is None:
            continue
        moved = slot - stroke.time
        price = moved * _LATER if moved > 0 else -moved * _EARLIER
        penalty = _LEVEL**level if level else 0
        cost = (cheapest.cost[0] + penalty, cheapest.cost[1] + price)
        if slot not in found or cost < found[slot].cost:
            found[slot] = _State(slot, cost, (slot, cheapest.link))
    return [found[slot] for slot in sorted(found)]


def _tuplets(
    refined: tuple[PlannedStroke, ...], moves: dict[int, int], slots: list[int]
) -> dict[int, int]:
    """Return the strokes that stay where they are because they divide a slot evenly.

    Three notes in a beat with no room beside it are easier as the triplet that they are than as
    an eighth and two 16ths.
    """
    gaps: dict[int, list[PlannedStroke]] = {}
    for stroke in refined:
        gaps.setdefault(bisect_right(slots, moves[stroke.time]), []).append(stroke)
    kept: dict[int, int] = {}
    for after, inside in gaps.items():
        if after >= len(slots) or len(inside) < 2:
            continue
        low, high = slots[after - 1], slots[after]
        parts = len(inside) + 1
        even = [low + (high - low) * number / parts for number in range(1, parts)]
        if parts & (parts - 1) and [one.time for one in inside] == even:
            kept |= {one.time: one.time for one in inside}
    return kept
