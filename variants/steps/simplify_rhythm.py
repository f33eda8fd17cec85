"""The step `simplify-rhythm`: onto a grid, off-beats onto the beat."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import gcd, lcm

from variants.contract import Promise
from variants.errors import Refusal, UsageError
from variants.score import (
    Change,
    Part,
    Score,
    events,
    map_notes,
    measures,
    notes,
    place_text,
    without_places,
)
from variants.score.rescale import coarsest, rescaled
from variants.score.survey import survey
from variants.steps.framework.log import count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.rhythm.graces import pass_on
from variants.steps.rhythm.grid import GRIDS, fine_factor, grid_of
from variants.steps.rhythm.lines import Lines, lines_of
from variants.steps.rhythm.marks import Loss, drop
from variants.steps.rhythm.plan import FIXED_DEPTH, plan, strokes_of
from variants.steps.rhythm.write import rewritten

_NAME = "simplify-rhythm"
_KEEP = ("all", "strong")
# Shortest note value: so many of them make a quarter.
_SHORTEST = 256
_PLURALS = {"half": "half notes", "quarter": "quarters", "eighth": "eighths"}


@register(
    _NAME,
    examples=(
        "simplify-rhythm",
        "simplify-rhythm:grid=eighth",
        "simplify-rhythm:grid=half,keep=strong",
        "simplify-rhythm:keep=strong",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class SimplifyRhythm(Checked):
    """Put the rhythm on a grid: off-beats onto the beat, ties and tuplets resolved.

    The grid is that of the first lessons, quarters, unless another is asked for; in a compound
    metre the beat stands for the quarter. All voices of a part move together, so that notes which
    began together still do. An onset on the grid never moves. One between two slots moves to a
    free one, later rather than earlier; a note that is held over a barline may move to the
    downbeat. A note lasts to the next one or to its old end, rounded to the grid.

    Where there are more onsets than slots, ``keep=all`` refines the grid as little as it can and
    keeps every onset, repeats and grace notes too. ``keep=strong`` keeps one onset a slot: the
    first and last of a phrase, then those with a syllable or a chord symbol, then the metrically
    strongest; a repeat of the note before and grace notes go.

    >>> sorted(promise.value for promise in SimplifyRhythm(keep="strong").keeps)
    ['measure-lengths', 'pitch-class-subsequence']
    """

    grid: str = parameter("quarter", "what the grid counts", choice(*GRIDS))
    keep: str = parameter("all", "what stays when notes collide", choice("all", "strong"))

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises: all onsets in order, or some of them."""
        order = Promise.PITCH_CLASS_ORDER if self.keep == "all" else Promise.PITCH_CLASS_SUBSEQUENCE
        return frozenset({order, Promise.MEASURE_LENGTHS})

    def __call__(self, score: Score) -> Score:
        """Return the score with a simpler rhythm and a log of what moved."""
        works = [_Work(self, score, part) for part in score.parts]
        ticks = score.ticks * lcm(*(work.factor for work in works))
        fine = rescaled(score, ticks)
        parts: list[Part] = []
        changes: list[Change] = []
        for work, part in zip(works, fine.parts, strict=True):
            try:
                done = work.done(part, ticks=ticks)
            except UsageError as error:
                raise _unwritable(fine, part, error) from None
            parts.append(done)
            changes += work.log(done) if done != part or work.plan.refined else []
        if not changes:
            changes.append(Change(f"nothing stands off the grid of {_PLURALS[self.grid]}", _NAME))
        result = replace(fine, parts=tuple(parts), changes=(*score.changes, *changes))
        return coarsest(result, multiple_of=score.ticks)


def _unwritable(score: Score, part: Part, error: UsageError) -> Refusal:
    """Return the refusal of a part with times that no note value reaches.

    It names the first event off every division of a quarter by 2, 3, 5 and 7, else the first
    measure whose length no values write.
    """
    common = 2**10 * 3**3 * 5 * 7
    way_out = "choose a finer grid, or correct the durations in the source"
    for index, event in events(part):
        length = Fraction(event.duration, score.ticks)
        if (common * length).denominator != 1:
            cause = f"something lasts {length} quarters here, which no note values write"
        elif (common * event.onset) % score.ticks:
            cause = "something begins here between all beats and divisions of beats"
        else:
            continue
        return Refusal(cause, place=place_text(score, part, index, event.onset), way_out=way_out)
    for view in measures(part, score.ticks):
        length = Fraction(view.measure.length, score.ticks)
        if length.denominator & (length.denominator - 1) or length.denominator > _SHORTEST:
            cause = f"the measure lasts {length} quarters, which no note values write"
            return Refusal(cause, place=place_text(score, part, view.index, 0), way_out=way_out)
    cause = f"what is left of a duration cannot be written in note values ({error.cause})"
    return Refusal(cause, place=f"part {part.name or part.id}", way_out=way_out)


class _Work:
    """What is found out about one part, and the part that comes of it."""

    def __init__(self, step: SimplifyRhythm, score: Score, part: Part) -> None:
        self.step = step
        self.part = part
        self.ticks = score.ticks
        self.scribe = scribe(_NAME, score, part)
        self.losses: list[Loss] = []
        # Time and number of the grace notes that are not kept.
        self.graces: list[tuple[int, int]] = []
        self.keep_all = step.keep == "all"
        lines = self._lines(part)
        size = GRIDS[step.grid]
        self.fine = self._fine_factor(lines)
        self.grid = grid_of(part, step=size, ticks=score.ticks, factor=self.fine)
        self.starts = [bar.start for bar in self.grid.bars]
        strokes = strokes_of(part, lines, self.grid, factor=self.fine)
        self.plan = plan(strokes, self.grid, keep_all=self.keep_all)
        # Only as many more ticks as the new times need.
        shared = gcd(self.fine, *self.plan.moves.values(), *self._slots_for_ends(lines))
        self.factor = self.fine // shared

    def _lines(self, part: Part) -> Lines:
        """Return the lines of the part, without the grace notes that are not kept."""
        lines = lines_of(part)
        if self.keep_all:
            return lines
        self.graces = []
        for (index, name), events_at_end in lines.tails.items():
            view = self.scribe.views[index]
            leant_on = [g for g in lines.voices.get(name, ()) if g.measure <= index and g.chains]
            if leant_on:
                pass_on(events_at_end, leant_on[-1])
            last = view.start + max(0, view.measure.length - 1)
            self.graces.append((last, len(events_at_end)))
        lines.tails.clear()
        for name, line in lines.voices.items():
            for group in line:
                # A grace note that is tied to its note is the note's beginning.
                tied = any(note.tie_start for grace in group.graces for note in grace.notes)
                if group.graces and not tied:
                    self.graces.append((group.time, len(group.graces)))
                    pass_on(group.graces, group)
                    group.graces = []
            lines.voices[name] = [group for group in line if group.graces or group.chains]
        return lines

    def _fine_factor(self, lines: Lines) -> int:
        """Return by how much the ticks must be multiplied to hold whatever may be planned."""
        times: dict[int, set[int]] = {}
        for group in lines.groups():
            times.setdefault(group.measure, set()).add(group.time)
        found = 1
        for view in self.scribe.views:
            number = len(times.get(view.index, ()))
            depth = number.bit_length() + 1 if self.keep_all else FIXED_DEPTH
            depth = depth if number else 0
            factor = fine_factor(view.metre, GRIDS[self.step.grid], depth, ticks=self.ticks)
            found = lcm(found, factor)
        return found

    def _slots_for_ends(self, lines: Lines) -> list[int]:
        """Return the slots to which the ends of notes may be rounded, if any must be."""
        slots = [slot for bar in self.grid.bars for slot in bar.slots]
        known = {*slots, self.grid.bars[-1].end} if slots else set()
        ends = (chain.end * self.fine for group in lines.groups() for chain in group.chains)
        return [] if all(end in known for end in ends) else slots

    def done(self, part: Part, *, ticks: int) -> Part:
        """Return the part, given in ``ticks`` to a quarter, on the grid."""
        if not part.measures:
            return part
        scale = Fraction(ticks, self.ticks * self.fine)
        size = GRIDS[self.step.grid]
        told = self.graces
        lines = self._lines(part)
        self.graces = told
        gone = {int(stroke.time * scale) for stroke, _ in self.plan.dropped}
        self.losses = drop(lines, gone, slot_ticks=int(size * ticks)) if gone else []
        moves = {int(old * scale): int(new * scale) for old, new in self.plan.moves.items()}
        grid = grid_of(part, step=size, ticks=ticks)
        return _freed(rewritten(part, lines, moves, grid), part, ticks=ticks)

    # -- the change log ------------------------------------------------------------------

    def log(self, done: Part) -> list[Change]:
        """Return what was done, in order of time, a summary first."""
        lines = [*self._moved(), *self._refined(), *self._dropped(), *self._lost()]
        lines.sort(key=lambda one: (one[0], one[1]))
        summary = self._summary(done)
        return [
            self.scribe.overall(summary),
            *(self.scribe.at(index, tick, message) for index, tick, message in lines),
        ]

    def _summary(self, done: Part) -> str:
        moved = sum(old != new for old, new in self.plan.moves.items())
        numbers = (
            (moved, "onset", "moved"),
            (len(self.plan.dropped), "onset", "dropped"),
            (len(self.plan.refined), "onset", "left between the slots"),
            (sum(number for _, number in self.graces), "grace note", "dropped"),
        )
        facts = [f"{count(number, thing)} {what}" for number, thing, what in numbers if number]
        for name, counted in (("tie", _ties), ("tuplet", _tuplets)):
            before, after = counted(self.part), counted(done)
            if before != after:
                facts.append(f"{name}s {before} before, {after} now")
        found = ", ".join(facts) or "no onset moved, note values written anew"
        return f"on a grid of {_PLURALS[self.step.grid]}: {found}"

    def _place(self, time: int) -> tuple[int, int]:
        """Return measure index and tick, in the ticks of the source, of a time of the grid."""
        index = bisect_right(self.starts, time) - 1
        return index, time - self.starts[index]

    def _beat(self, time: int) -> str:
        index, tick = self._place(time)
        bar = self.grid.bars[index]
        return bar.metre.beat_name(Fraction(tick + bar.shift, self.grid.ticks))

    def _at(self, time: int, message: str) -> tuple[int, int, str]:
        index, tick = self._place(time)
        return index, tick // self.fine, message

    def _moved(self) -> Iterator[tuple[int, int, str]]:
        """Yield one line for each measure with the onsets that moved onto the grid."""
        refined = {stroke.time for stroke in self.plan.refined}
        moves = [
            (old, new)
            for old, new in sorted(self.plan.moves.items())
            if old != new and old not in refined
        ]
        for _, group in groupby(moves, key=lambda move: self._place(move[0])[0]):
            first, *others = group
            words = [f"moved to {self._target(*first)}"]
            words += [f"beat {self._beat(old)} to {self._target(old, new)}" for old, new in others]
            yield self._at(first[0], ", ".join(words))

    def _target(self, old: int, new: int) -> str:
        here, there = self._place(old)[0], self._place(new)[0]
        where = f"measure {self.scribe.views[there].measure.number}, " if there != here else ""
        return f"{where}beat {self._beat(new)}"

    def _refined(self) -> Iterator[tuple[int, int, str]]:
        strokes = self.plan.refined
        for _, group in groupby(strokes, key=lambda stroke: self._place(stroke.time)[0]):
            inside = list(group)
            beats = ", ".join(self._beat(self.plan.moves[stroke.time]) for stroke in inside)
            message = (
                f"{count(len(inside), 'onset')} between the {_PLURALS[self.step.grid]}, on beat"
                f" {beats}: the slots are taken, and {self._reason}"
            )
            yield self._at(inside[0].time, message)

    @property
    def _reason(self) -> str:
        if self.keep_all:
            return "keep=all keeps every onset"
        return "the first and last notes of a section stay"

    def _dropped(self) -> Iterator[tuple[int, int, str]]:
        for stroke, reason in self.plan.dropped:
            names = " ".join(stroke.names)
            yield self._at(stroke.time, f"{names or 'a note'} dropped: {reason}")
        for time, number in sorted(self.graces):
            yield self._at(time * self.fine, f"{count(number, 'grace note')} dropped")

    def _lost(self) -> Iterator[tuple[int, int, str]]:
        for loss in self.losses:
            tick = loss.group.head.onset
            yield loss.group.measure, tick, loss.message


def _ties(part: Part) -> int:
    return sum(note.tie_stop for note in notes(part))


def _tuplets(part: Part) -> int:
    return sum(
        mark.family == "tuplet" and mark.role == "start"
        for _, event in events(part)
        for mark in event.marks
    )


def _freed(part: Part, source: Part, *, ticks: int) -> Part:
    """Return the part without its places if longer notes now share a string."""
    if all(note.place is None for note in notes(part)):
        return part
    before, after = (survey(Score(ticks, (one,))).parts[0].shared_strings for one in (source, part))
    return map_notes(part, without_places) if len(after) > len(before) else part
