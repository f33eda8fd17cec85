"""Where each onset of a part goes on the grid.

An onset on the grid stays. One between two slots goes to the slot after it if it is held over
that, and nothing else is struck there: a note struck just before a beat and held over it belongs to
that beat (common practice; Sioros 2015 treats undoing a syncopation as such a move). Otherwise it
goes back to the slot before it, if that is free and a note sounds on it: a beat that is silent
stays silent, its rest is part of the figure. What is left then goes through the same two questions
on the next finer rank (``keep=all``), or goes (``keep=strong``).

Worked example, 4/4 on quarters, one letter an eighth, ``-`` a rest, points held::

    beat      1   2   3   4
    before    A . B C . . - D
    rank 1    A stands on 1. B stands on 2. C (2.5) is held over 3, which is free: it goes there.
              D (4.5) is held over nothing; beat 4 is silent: it finds no slot.
    rank 2    D stands on an eighth, and stays.
    after     A . B . C . - D
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby, pairwise

from variants.music.pitch import Alteration, Pitch
from variants.score import Harmony, Part
from variants.steps.rhythm.grid import BEATS, DEEPEST, Grid
from variants.steps.rhythm.lines import Group, Lines
from variants.steps.rhythm.write import lay

_SECTION_STYLES = frozenset({"light-light", "light-heavy", "heavy", "heavy-heavy"})


@dataclass(frozen=True, slots=True)
class Beginning:
    """What begins together in a part, in all voices.

    Args:
        time: Ticks from the start of the part.
        measure: Index of the measure.
        voices: The voices in which it begins.
        heights: MIDI heights that are struck, ascending; grace notes not included.
        names: Names of the pitches, for people.
        end: Ticks at which the last of its notes is over, short silences after it included.
        rank: Rank of its place in the metre: the lower, the stronger.
        is_sung: It carries a syllable.
        is_fixed: It begins or ends a phrase or a section, or has a fermata: it is not dropped.
        may_move: It may leave its place.
        may_cross: It may move to the next downbeat.
        symbol: The chord symbol that stands on it.
    """

    time: int
    measure: int
    voices: tuple[str, ...]
    heights: tuple[Alteration, ...]
    names: tuple[str, ...]
    end: int
    rank: int
    is_sung: bool
    is_fixed: bool
    may_move: bool
    may_cross: bool
    symbol: Harmony | None

    @property
    def weakness(self) -> tuple[int, bool, bool, int]:
        """What orders onsets that want one slot: the metre first, then words, then chords."""
        return self.rank, not self.is_sung, self.symbol is None, self.time


@dataclass(frozen=True, slots=True)
class RhythmPlan:
    """Old time to new time of what begins in a part, in ticks from its start.

    Args:
        moves: New time by old time.
        dropped: What goes, with the reason.
        between: What stands between slots, because the slots are taken or silent.
    """

    moves: dict[int, int]
    dropped: tuple[tuple[Beginning, str], ...]
    between: tuple[Beginning, ...]


# --- what begins ----------------------------------------------------------------------------------


class Texture:
    """What begins in a part, and when each voice sounds.

    Args:
        part: The part.
        lines: Its voices.
        grid: The grid.
    """

    def __init__(self, part: Part, lines: Lines, grid: Grid) -> None:
        self.grid = grid
        together: dict[int, list[tuple[str, Group]]] = {}
        ends: dict[int, int] = {}
        self._sounds: dict[str, tuple[list[int], list[int]]] = {}
        for voice, line in lines.voices.items():
            latest = 0
            starts, until = self._sounds.setdefault(voice, ([], []))
            for laid in lay(line, {}, grid):
                latest = max(latest, laid.end)
                starts.append(laid.time)
                until.append(latest)
                together.setdefault(laid.time, []).append((voice, laid.group))
                ends[laid.time] = max(laid.end, ends.get(laid.time, 0))
        times = sorted(together)
        fixed = _section_ends(part, grid, times) | _phrase_ends(grid, times, ends)
        blocked = _blocked(part, lines)
        symbols = symbols_by_time(part, grid)
        self.symbols = symbols
        self.beginnings = [
            _beginning(grid, together[time], ends[time], symbols.get(time), (fixed, blocked))
            for time in times
        ]

    def sounds(self, voices: Iterable[str], time: int) -> bool:
        """Whether each of some voices sounds at a time."""
        for voice in voices:
            starts, until = self._sounds[voice]
            place = bisect_right(starts, time)
            if not place or until[place - 1] <= time:
                return False
        return True


def symbols_by_time(part: Part, grid: Grid) -> dict[int, Harmony]:
    """Return the chord symbols of a part by time, the last where several stand at one."""
    return {
        bar.start + one.onset: one
        for measure, bar in zip(part.measures, grid.bars, strict=True)
        for one in measure.harmonies
    }


def _beginning(
    grid: Grid,
    groups: list[tuple[str, Group]],
    end: int,
    symbol: Harmony | None,
    fast: tuple[set[int], set[int]],
) -> Beginning:
    time, index = groups[0][1].time, groups[0][1].measure
    fixed, blocked = fast
    bar = grid.bars[index]
    pitches = sorted(_pitches(group for _, group in groups), key=lambda one: one.semitones)
    rank = grid.rank_of(time)
    # What stands on a beat does not push the next one.
    pushes = rank > BEATS and bar.end - time < grid.ticks * 2
    return Beginning(
        time,
        index,
        tuple(voice for voice, _ in groups),
        tuple(one.semitones for one in pitches),
        tuple(map(str, pitches)),
        end,
        rank,
        any(lyric.text for _, group in groups for lyric in group.lyrics),
        time in fixed or _has_fermata(group for _, group in groups),
        all(group.is_stroke for _, group in groups),
        pushes and index not in blocked,
        symbol,
    )


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
    found = {times[0], times[-1]} if times else set()
    for measure, bar in zip(part.measures, grid.bars, strict=True):
        for barline in measure.barlines:
            if barline.location != "left" and (barline.repeat or barline.style in _SECTION_STYLES):
                place = bisect_left(times, bar.end)
                if place and times[place - 1] >= bar.start:
                    found.add(times[place - 1])
    return found


def _phrase_ends(grid: Grid, times: list[int], ends: dict[int, int]) -> set[int]:
    """Return the times next to a silence of a quarter or more: it parts two phrases."""
    found: set[int] = set()
    silent_from = 0
    for place, time in enumerate(times):
        if place and time - silent_from >= grid.ticks:
            found |= {time, times[place - 1]}
        silent_from = max(silent_from, ends[time])
    return found


def _has_fermata(groups: Iterable[Group]) -> bool:
    return any(
        mark.family == "fermata" for group in groups for mark in (*group.marks, *group.tail_marks)
    )


# --- the plan -------------------------------------------------------------------------------------


def plan(texture: Texture, *, keep_all: bool, left: Collection[int]) -> RhythmPlan:
    """Return where everything goes.

    Args:
        texture: What begins.
        keep_all: Keep every onset; else one for each slot, the strongest.
        left: Indices of the measures in which nothing moves.
    """
    grid = texture.grid
    beginnings = [
        replace(one, may_move=False) if one.measure in left else one for one in texture.beginnings
    ]
    known = set(grid.slots(grid.rank))
    off = [one for one in beginnings if one.time not in known]
    planner = _Planner(texture, beginnings)
    loose = planner.settle([one for one in off if one.may_move], grid.rank, first=keep_all)
    gone: list[tuple[Beginning, str]] = []
    if not keep_all:
        stay = set(planner.staying(loose))
        stay |= planner.whole_runs(beginnings, stay)
        gone = [(one, planner.reason(one)) for one in loose if one.time not in stay]
        # Of several that stay between two slots none takes the place of another.
        staying = [one for one in loose if one.time in stay]
        groups = [inside for _, _, inside in planner.windows(staying, grid.rank)]
        loose = [one for inside in groups if len(inside) == 1 for one in inside]
        planner.fast = sorted(
            {*planner.fast, *(one.time for one in staying)} - {one.time for one in loose}
        )
    whole = planner.whole_runs(beginnings, {one.time for one in loose})
    planner.fast = sorted({*planner.fast, *whole})
    loose = [one for one in loose if one.time not in whole]
    for rank in range(grid.rank + 1, DEEPEST):
        loose = planner.settle(loose, rank, first=True)
    lost = {one.time for one, _ in gone}
    moves = {
        one.time: planner.moves.get(one.time, one.time)
        for one in beginnings
        if one.time not in lost
    }
    crossed = {
        one.measure
        for before, one in pairwise(one for one in beginnings if one.time in moves)
        if moves[before.time] >= moves[one.time]
    }
    if crossed - set(left):
        return plan(texture, keep_all=keep_all, left={*left, *crossed})
    between = tuple(one for one in off if one.time in moves and moves[one.time] not in known)
    return RhythmPlan(moves, tuple(gone), between)


class _Planner:
    """Puts onsets on slots, rank by rank, and knows which are taken."""

    def __init__(self, texture: Texture, beginnings: Sequence[Beginning]) -> None:
        self.texture = texture
        self.grid = texture.grid
        self.taken = {one.time for one in beginnings}
        self.fast = sorted(one.time for one in beginnings if not one.may_move)
        self.moves: dict[int, int] = {}
        self.beginnings = beginnings

    def windows(
        self, loose: list[Beginning], rank: int
    ) -> Iterator[tuple[int, int, list[Beginning]]]:
        """Yield two neighbouring slots, and what stands between them and has no slot yet."""
        slots = self.grid.slots(rank)
        for after, group in groupby(loose, key=lambda one: bisect_right(slots, one.time)):
            inside = [one for one in group if one.time != slots[after - 1]]
            if inside and after < len(slots):
                yield slots[after - 1], slots[after], inside

    def settle(self, loose: list[Beginning], rank: int, *, first: bool) -> list[Beginning]:
        """Put onsets on the slots of a rank, and return those that found none.

        Args:
            loose: Onsets in order of time.
            rank: The rank.
            first: The first between two slots goes back, since the others stay where they are;
                else the strongest.
        """
        left: list[Beginning] = []
        for low, high, inside in self.windows(loose, rank):
            if self._is_push(inside[-1], high):
                self._move(inside.pop(), high)
            others = inside if not first else inside[:1]
            if any(one.is_fixed for one in inside):
                others = inside[:1]
            chosen = min(others, key=lambda one: one.weakness, default=None)
            if chosen is not None and self._may_go_back(chosen, low):
                self._move(chosen, low)
                inside.remove(chosen)
            left += inside
        return left

    def _move(self, one: Beginning, to: int) -> None:
        self.taken.discard(self.moves.get(one.time, one.time))
        self.moves[one.time] = to
        self.taken.add(to)

    def _is_push(self, one: Beginning, slot: int) -> bool:
        crosses = slot >= self.grid.bars[one.measure].end
        return one.end > slot and (one.may_cross or not crosses) and self._is_free(one, slot)

    def _may_go_back(self, one: Beginning, slot: int) -> bool:
        return self._is_free(one, slot) and self.texture.sounds(one.voices, slot)

    def _is_free(self, one: Beginning, slot: int) -> bool:
        between = sorted((one.time, slot))
        symbol = self.texture.symbols.get(slot)
        clash = symbol and one.symbol and replace(symbol, onset=0) != replace(one.symbol, onset=0)
        return (
            slot not in self.taken
            and not clash
            and bisect_left(self.fast, between[0]) == bisect_right(self.fast, between[1])
        )

    def staying(self, loose: list[Beginning]) -> Iterator[int]:
        """Yield the times of what is kept though it has no slot.

        These are the ends of phrases, what only a silence could take the place of, and what is
        stronger than one of these beside it.
        """
        for low, _, inside in self.windows(loose, self.grid.rank):
            kept = [
                one for one in inside if one.is_fixed or not self.texture.sounds(one.voices, low)
            ]
            weakest = max((one.rank for one in kept), default=-1)
            yield from (one.time for one in kept)
            yield from (one.time for one in inside if one.rank < weakest)

    def whole_runs(self, beginnings: Sequence[Beginning], kept: set[int]) -> set[int]:
        """Put tuplets back of which a note found no slot: a tuplet is easier whole than broken.

        Returns:
            The times of all notes of such tuplets.
        """
        found: set[int] = set()
        for is_tuplet, run in groupby(beginnings, key=lambda one: self.grid.is_tuplet(one.time)):
            times = {one.time for one in run}
            if is_tuplet and not times.isdisjoint(kept):
                found |= times
                for time in times & self.moves.keys():
                    self.taken.discard(self.moves.pop(time))
                    self.taken.add(time)
        return found

    def reason(self, one: Beginning) -> str:
        """Return why an onset is dropped."""
        place = bisect_left([other.time for other in self.beginnings], one.time)
        before = self.beginnings[place - 1] if place else None
        if before is not None and one.heights and before.heights == one.heights:
            return "a repeat of the note before"
        return "no room on the grid"
