"""The step `simplify-rhythm`: onto a grid, off-beats onto the beat."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from math import lcm

from variants.contract import Promise
from variants.errors import Refusal, UsageError
from variants.score import (
    Change,
    Harmony,
    Part,
    Score,
    events,
    map_notes,
    measures,
    notes,
    place_text,
    with_changes,
    without_places,
)
from variants.score.rescale import coarsest, rescaled
from variants.score.survey import shares_more_strings
from variants.steps.framework.log import count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.rhythm.burden import burdens
from variants.steps.rhythm.graces import pass_on
from variants.steps.rhythm.grid import GRIDS, Grid, ticks_for
from variants.steps.rhythm.lines import Lines, lines_of
from variants.steps.rhythm.marks import Loss, drop
from variants.steps.rhythm.plan import RhythmPlan, Texture, plan
from variants.steps.rhythm.write import rewritten
from variants.steps.wording.words import symbol_text

_NAME = "simplify-rhythm"
_KEEP = ("all", "strong")
# Shortest note value: so many of them make a quarter.
_SHORTEST = 256
_ROUNDS = 4


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
    metre the dotted beat stands for the quarter, in 5/8 and the like the groups that are counted.
    All voices of a part move together. An onset on the grid never moves. A note that is struck
    between two slots and held over the next one belongs to that one; another may go back to the
    slot before it, if a note sounds there: a beat that is silent stays silent. A note lasts to the
    next one or to its old end, rounded to the grid. A chord symbol goes where its note goes.

    Where there are more onsets than slots, ``keep=all`` keeps every onset, on as plain a division
    of the beat as there is room for. ``keep=strong`` keeps one onset a slot, the metrically
    strongest, and the first and last of each phrase; grace notes go. No measure gets more ties,
    off-beats, tuplets or shorter values than it had: one that would is left as it is.

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
        result, changes = self._once(score)
        # What is simpler now may make room for more, seldom more than once.
        for _ in range(_ROUNDS):
            again, more = self._once(result)
            if again == result:
                break
            result, changes = again, [*changes, *(one for one in more if one not in changes)]
        return with_changes(coarsest(result, multiple_of=score.ticks), changes)

    def _once(self, score: Score) -> tuple[Score, list[Change]]:
        rank = GRIDS[self.grid]
        fine = rescaled(score, lcm(*(ticks_for(part, rank, score.ticks) for part in score.parts)))
        works = [_Work(self, fine, part) for part in fine.parts]
        parts = [work.done() for work in works]
        changes = [line for work in works for line in work.log()]
        if not changes:
            changes = [Change(f"nothing stands off the grid of {works[0].grid.name()}", _NAME)]
        done = coarsest(replace(fine, parts=tuple(parts)), multiple_of=score.ticks)
        return done, changes


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
        self.keep_all = step.keep == "all"
        self.score = score
        self.part = part
        self.scribe = scribe(_NAME, score, part)
        self.grid = Grid(part, GRIDS[step.grid], score.ticks)
        # Time and number of the grace notes that are not kept.
        self.graces: list[tuple[int, int]] = []
        self.texture = Texture(part, self._lines(), self.grid)
        self.plan = RhythmPlan({}, (), ())
        self.losses: list[Loss] = []
        self.symbols: list[tuple[int, str]] = []
        # What would have been harder in a measure that was left, by index.
        self.left: dict[int, str] = {}
        self.result = part

    def _lines(self) -> Lines:
        """Return the lines of the part, without the grace notes that are not kept."""
        lines = lines_of(self.part)
        self.graces = []
        if self.keep_all:
            return lines
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

    def done(self) -> Part:
        """Return the part on the grid, no measure of it harder than it was.

        A measure that would be harder is written again with its onsets where they were, and, where
        that is harder still, as it was printed; so are those beside it, if it takes that.
        """
        before = burdens(self.part, self.grid)
        efforts = [0] * len(before)
        while True:
            try:
                written = self._written(efforts)
            except UsageError as error:
                raise _unwritable(self.score, self.part, error) from None
            after = burdens(written, self.grid)
            harder = {
                index: ", ".join(dict.fromkeys(new.harder_than(old)))
                for index, (old, new) in enumerate(zip(before, after, strict=True))
                if any(new.harder_than(old))
            }
            if not _raised(efforts, harder):
                break
            self.left = harder | self.left
        self.result = _freed(self._with_symbols(written), self.part, ticks=self.score.ticks)
        return self.result

    def _written(self, efforts: list[int]) -> Part:
        lines = self._lines()
        still = {index for index, effort in enumerate(efforts) if effort}
        exact = {index for index, effort in enumerate(efforts) if effort > 1}
        self.plan = plan(self.texture, keep_all=self.keep_all, left=still)
        gone = {one.time for one, _ in self.plan.dropped}
        self.losses = drop(lines, gone, self.grid.rests) if gone else []
        return rewritten(self.part, lines, self.plan.moves, grid=self.grid, exact=exact)

    def _with_symbols(self, part: Part) -> Part:
        """Return the part with each chord symbol on the note on which it stood."""
        made: list[list[Harmony]] = [[] for _ in part.measures]
        gone = {one.time for one, _ in self.plan.dropped}
        self.symbols = []
        for measure, bar in zip(self.part.measures, self.grid.bars, strict=True):
            for symbol in measure.harmonies:
                time = bar.start + symbol.onset
                to = self.plan.moves.get(time, time)
                index = self.grid.measure_at(to) if to != time else self.grid.bars.index(bar)
                moved = replace(symbol, onset=to - self.grid.bars[index].start)
                if time in gone:
                    text = f"the chord symbol {symbol_text(symbol)} stays where its note was"
                    self.symbols.append((time, text))
                if moved in made[index]:
                    self.symbols.append((time, f"{symbol_text(symbol)} is written once"))
                else:
                    made[index].append(moved)
        measures = [
            replace(measure, harmonies=tuple(sorted(found, key=lambda one: one.onset)))
            for measure, found in zip(part.measures, made, strict=True)
        ]
        same = all(a.harmonies == b.harmonies for a, b in zip(measures, part.measures, strict=True))
        return part if same else replace(part, measures=tuple(measures))

    # -- the change log ------------------------------------------------------------------

    def log(self) -> list[Change]:
        """Return what was done, in order of time, a summary first."""
        if self.result == self.part and not self.plan.between:
            return []
        lines = [*self._moved(), *self._between(), *self._dropped(), *self._left()]
        lines += [
            (self.grid.bars[loss.group.measure].start + loss.group.head.onset, loss.message)
            for loss in self.losses
        ]
        lines += self.symbols
        lines.sort(key=lambda one: one[0])
        return [
            self.scribe.overall(self._summary()),
            *(self.scribe.at(*self._place(time), message) for time, message in lines),
        ]

    def _summary(self) -> str:
        moved = sum(old != new for old, new in self.plan.moves.items())
        numbers = (
            (moved, "onset", "moved"),
            (len(self.plan.dropped), "onset", "dropped"),
            (len(self.plan.between), "onset", "left between the slots"),
            (sum(number for _, number in self.graces), "grace note", "dropped"),
        )
        facts = [f"{count(number, thing)} {what}" for number, thing, what in numbers if number]
        then, now = (burdens(part, self.grid) for part in (self.part, self.result))
        for name in ("ties", "tuplets"):
            before, after = (sum(getattr(one, name) for one in some) for some in (then, now))
            if before != after:
                what = "notes in tuplets" if name == "tuplets" else name
                facts.append(f"{what} {before} before, {after} now")
        found = ", ".join(facts) or "no onset moved, note values written anew"
        return f"on a grid of {self.grid.name()}: {found}"

    def _place(self, time: int) -> tuple[int, int]:
        """Return measure index and tick of a time of the part."""
        index = self.grid.measure_at(time)
        return index, time - self.grid.bars[index].start

    def _beat(self, time: int) -> str:
        index, tick = self._place(time)
        return self.scribe.views[index].beat_text(tick)

    def _by_measure(self, times: Iterable[int]) -> Iterator[list[int]]:
        for _, group in groupby(sorted(times), key=self.grid.measure_at):
            yield list(group)

    def _moved(self) -> Iterator[tuple[int, str]]:
        """Yield one line for each measure with the onsets that moved onto the grid."""
        between = {one.time for one in self.plan.between}
        moves = {a: b for a, b in self.plan.moves.items() if a != b and a not in between}
        for first, *others in self._by_measure(moves):
            words = [f"moved to {self._target(first, moves[first])}"]
            words += [
                f"beat {self._beat(old)} to {self._target(old, moves[old])}" for old in others
            ]
            yield first, ", ".join(words)

    def _target(self, old: int, new: int) -> str:
        here, there = self._place(old)[0], self._place(new)[0]
        where = f"measure {self.scribe.views[there].measure.number}, " if there != here else ""
        return f"{where}beat {self._beat(new)}"

    def _between(self) -> Iterator[tuple[int, str]]:
        for inside in self._by_measure(one.time for one in self.plan.between):
            beats = ", ".join(self._beat(self.plan.moves[time]) for time in inside)
            if self._place(inside[0])[0] not in self.left:
                text = (
                    f"{count(len(inside), 'onset')} between the {self.grid.name()}, on beat {beats}"
                )
                yield inside[0], f"{text}: the slots are taken or silent, and {self._reason}"

    @property
    def _reason(self) -> str:
        if self.keep_all:
            return "keep=all keeps every onset"
        return "the first and last notes of a phrase stay"

    def _left(self) -> Iterator[tuple[int, str]]:
        for index, words in self.left.items():
            yield self.grid.bars[index].start, f"left as it is: on this grid it has more {words}"

    def _dropped(self) -> Iterator[tuple[int, str]]:
        for one, reason in self.plan.dropped:
            yield one.time, f"{' '.join(one.names) or 'a note'} dropped: {reason}"
        for time, number in self.graces:
            yield time, f"{count(number, 'grace note')} dropped"


def _raised(efforts: list[int], harder: Iterable[int]) -> bool:
    """Raise the effort of the measures that are harder, and say whether one could be raised.

    A measure that is as printed already is harder because of those beside it.
    """
    most, found = 2, False
    for index in harder:
        wide = (index,) if efforts[index] < most else range(len(efforts))
        near = [one for one in wide if abs(one - index) <= 1 and efforts[one] < most]
        for one in near or [one for one in wide if efforts[one] < most]:
            efforts[one] = efforts[one] + 1 if one == index else most
            found = True
    return found


def _freed(part: Part, source: Part, *, ticks: int) -> Part:
    """Return the part without its places if longer notes now share a string."""
    if all(note.place is None for note in notes(part)):
        return part
    return map_notes(part, without_places) if shares_more_strings(source, part, ticks) else part
