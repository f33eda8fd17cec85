"""The step `shift-position`: the same pitches at another place on the neck."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.errors import Refusal, Unplayable
from variants.score import Change, Part, Place, Score, Take, place_text, with_parts
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice, joined, whole
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import (
    assumed,
    fold_hint,
    fret_span,
    fretted_parts,
    instrument_at,
    placed,
    takes_of,
    with_instrument,
)
from variants.steps.places.neck_search import (
    NeckMoment,
    NeckWishes,
    Shape,
    Stuck,
    best_path,
    moments_of,
    shapes,
)

_NAME = "shift-position"
_MOST_POSITION = 30
_MOST_STRINGS = 12
_OPEN = ("allow", "avoid", "prefer")


@register(
    _NAME,
    examples=(
        "shift-position:position=5",
        "shift-position",
        "shift-position:strings=5+4",
        "shift-position:position=7,open=avoid",
    ),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class ShiftPosition(Checked):
    """Play the same pitches at another place: a position, a set of strings, or the next one up.

    A position is the fret of the first finger. Its notes lie on four frets from there, and where
    there is no other way a stretch of one fret below or above. With ``strings`` alone the hand
    moves as little as it can. Open strings that are avoided are used only where there is no other
    way. With neither, the part goes to the next position above the lowest
    one that holds it: the first in which most of its notes find another place.

    What is held stays held, one note a string; a slide, hammer-on or pull-off stays on its string
    where it can; and what sounds together is a grip that a hand of medium size can hold. Only
    places are set; the fingers are chosen later.

    >>> sorted(promise.value for promise in ShiftPosition.keeps)
    ['durations', 'measure-lengths', 'onsets', 'sounding-pitches']
    """

    position: int | None = parameter(None, "fret of the first finger", whole(1, _MOST_POSITION))
    strings: tuple[int, ...] = parameter(
        (), "the only strings to use", joined(whole(1, _MOST_STRINGS), "5+4, 3+2+1, ...")
    )
    open: str = parameter(
        "allow", "what to think of open strings", choice("allow", "avoid", "prefer")
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.SOUNDING_PITCHES, *TIMES})

    def __call__(self, score: Score) -> Score:
        """Return the score with every note of its fretted parts at its new place.

        Raises:
            Refusal: The instrument has no such string or position, or a note is a microtone.
            Unplayable: Some notes cannot be played there; names them and what would do.
        """
        parts = list(score.parts)
        changes: list[Change] = []
        for index in fretted_parts(score):
            source = score.parts[index]
            part = with_instrument(source)
            work = _Work(self, score, part)
            if work.moments:
                parts[index], lines = work.done()
                changes += [*assumed(source, _NAME), *lines]
        return with_parts(score, parts, changes)


class _Work:
    """The search for one part."""

    def __init__(self, step: ShiftPosition, score: Score, part: Part) -> None:
        self.step = step
        self.score = score
        self.part = part
        self.log: Scribe = scribe(_NAME, score, part)
        instrument = instrument_at(part)
        self.moments = moments_of(takes_of(part, self.log), instrument)
        here = instrument(0)
        self.top = here.top_fret
        self._check(here.strings)

    def _check(self, strings: int) -> None:
        wrong = [string for string in self.step.strings if string > strings]
        if wrong:
            raise Refusal(
                f"the instrument has no string {wrong[0]}", way_out=f"use strings 1 to {strings}"
            )
        if self.step.position is not None and self.step.position > self.top:
            raise Refusal(
                f"there is no position {roman(self.step.position)} on a neck of {self.top} frets",
                way_out=f"use position=1 to {self.top}",
            )

    def done(self) -> tuple[Part, list[Change]]:
        """Return the part with its places, and what there is to say."""
        wishes = self._wishes(self.step.position)
        if self.step.position is None and not self.step.strings:
            wishes, found = self._next_up()
        else:
            answer = best_path(self.moments, wishes)
            if isinstance(answer, Stuck):
                raise self._refusal(answer, wishes)
            found = answer
        pairs = list(self._pairs(found))
        lines = [self.log.overall(_summary(wishes, [place for _, place in pairs]))]
        if self.step.open == "avoid":
            lines += self._opens(found)
        return placed(self.part, pairs), lines

    def _wishes(self, position: int | None, *, stretch: bool = True) -> NeckWishes:
        return NeckWishes(
            position=position,
            strings=self.step.strings,
            open_strings=self.step.open,
            stretch=stretch,
        )

    def _pairs(self, found: list[Shape]) -> Iterator[tuple[Take, Place]]:
        for moment, shape in zip(self.moments, found, strict=True):
            places = {spot.midi: spot.place for spot in shape}
            for take in moment.takes:
                yield take, places[take.pitch.midi]

    def _next_up(self) -> tuple[NeckWishes, list[Shape]]:
        """Return the first position above the lowest one that plays most notes elsewhere."""
        lowest: list[Place] | None = None
        for stretch in (False, True):
            for position in range(1, self.top + 1):
                wishes = self._wishes(position, stretch=stretch or lowest is None)
                found = best_path(self.moments, wishes)
                if isinstance(found, Stuck):
                    continue
                places = [place for _, place in self._pairs(found)]
                if lowest is None:
                    lowest = places
                elif 2 * sum(a != b for a, b in zip(places, lowest, strict=True)) > len(places):
                    return wishes, found
        if lowest is None:
            stuck = best_path(self.moments, self._wishes(1))
            if isinstance(stuck, Stuck):
                raise self._refusal(stuck, self._wishes(1))
        raise Unplayable(
            "no second position holds the whole part",
            place=self._where(self.moments[0]),
            way_out="name one with position=, or the strings with strings=5+4",
        )

    def _opens(self, found: list[Shape]) -> list[Change]:
        """Return a line for each open string that could not be avoided."""
        return [
            self.log.at(
                moment.takes[0].measure,
                moment.takes[0].tick,
                f"{take.pitch} stays on the open string {spot.place.string}: there is no other"
                " place for it here",
            )
            for moment, shape in zip(self.moments, found, strict=True)
            for take in moment.takes
            for spot in shape
            if spot.midi == take.pitch.midi and spot.fret == 0
        ]

    # -- refusals ------------------------------------------------------------------------

    def _where(self, moment: NeckMoment) -> str:
        first = moment.takes[0]
        return place_text(self.score, self.part, first.measure, first.tick)

    def _refusal(self, stuck: Stuck, wishes: NeckWishes) -> Unplayable:
        moment = self.moments[stuck.index]
        midis, names = self._culprits(moment, stuck, wishes)
        cause = f"{_listed(names)} cannot be played{' together' if len(names) > 1 else ''}"
        if wishes.position is not None:
            cause += f" in position {roman(wishes.position)}"
        if wishes.strings:
            cause += f" on {_strings(wishes.strings)}"
        if not stuck.alone:
            held = sorted(spot for spot in self._held_names(moment))
            cause += f" while {_listed(held)} {'is' if len(held) == 1 else 'are'} held"
        way_out = self._way_out(midis, moment, alone=stuck.alone)
        return Unplayable(cause, place=self._where(moment), way_out=way_out)

    def _culprits(
        self, moment: NeckMoment, stuck: Stuck, wishes: NeckWishes
    ) -> tuple[tuple[int, ...], list[str]]:
        """Return the notes to blame: one that has no place alone, else all that begin."""
        names = {take.pitch.midi: str(take.pitch) for take in moment.takes}
        together = (moment.struck, [names[midi] for midi in moment.struck])
        if not stuck.alone:
            return together
        ways = {midi: shapes((midi,), moment.instrument) for midi in moment.struck}
        # No neck has it; then no hand holds it; then it is not where it is wanted.
        off = [midi for midi in moment.struck if not ways[midi]]
        if not off and not shapes(moment.struck, moment.instrument):
            return together
        off = off or [midi for midi in moment.struck if not any(map(wishes.allow, ways[midi]))]
        return ((off[0],), [names[off[0]]]) if off else together

    def _held_names(self, moment: NeckMoment) -> list[str]:
        start = moment.takes[0].start
        return [
            str(take.pitch)
            for one in self.moments
            for take in one.takes
            if take.start < start < take.end and take.pitch.midi in moment.held
        ]

    def _way_out(self, midis: tuple[int, ...], moment: NeckMoment, *, alone: bool) -> str:
        if not shapes(midis, moment.instrument):
            if len(midis) > 1:
                return "put reduce-chords before it"
            return f"the neck has no such note: {fold_hint()}put transpose:octave=fit before it"
        whole = [
            position
            for position in range(1, self.top + 1)
            if not isinstance(best_path(self.moments, self._wishes(position)), Stuck)
        ]
        if whole:
            return f"the whole part fits {_positions(whole)}"
        if not alone:
            return "put reduce-chords before it, or name other strings or another position"
        ways = []
        fitting = [
            position
            for position in range(1, self.top + 1)
            if any(
                map(
                    self._wishes(position).allow,
                    shapes(midis, moment.instrument),
                )
            )
        ]
        if fitting:
            ways.append(f"{_positions(fitting)} can, but no single position holds the whole part")
        if self.step.strings:
            used = {
                spot.place.string for shape in shapes(midis, moment.instrument) for spot in shape
            }
            ways.append(f"{_strings(sorted(used, reverse=True), word='or')} can")
            ways.append("or leave out strings=")
        else:
            last = ", or leave position= out" if self.step.position is not None else ""
            ways.append(f"name strings instead, as in strings=5+4+3{last}")
        return ", ".join(ways)


def _summary(wishes: NeckWishes, places: list[Place]) -> str:
    frets = [place.fret for place in places if place.fret]
    used = Counter(place.string for place in places)
    where = f"position {roman(wishes.position)}, " if wishes.position is not None else ""
    span = f"{fret_span(frets)}, " if frets else ""
    opened = sum(place.fret == 0 for place in places)
    strings = _strings(sorted(used, reverse=True))
    return f"{where}{strings}, {span}{count(opened, 'open note')} of {len(places)}"


def _strings(strings: Iterable[int], *, word: str = "and") -> str:
    numbers = list(strings)
    listed = _listed(list(map(str, numbers)), word=word)
    return f"string{'s' if len(numbers) > 1 else ''} {listed}"


def _listed(words: list[str], *, word: str = "and") -> str:
    return f"{', '.join(words[:-1])} {word} {words[-1]}" if len(words) > 1 else "".join(words)


def _positions(numbers: list[int]) -> str:
    """Return positions as runs: ``positions I to IV and VII``."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    words: list[str] = []
    for run in runs:
        if len(run) > 2:
            words.append(f"{roman(run[0])} to {roman(run[-1])}")
        else:
            words += map(roman, run)
    return f"position{'s' if len(numbers) > 1 else ''} {_listed(words)}"


def roman(number: int) -> str:
    """Return a position as the trade writes it.

    >>> roman(4), roman(9), roman(12), roman(19)
    ('IV', 'IX', 'XII', 'XIX')
    """
    text = ""
    for value, sign in ((10, "X"), (9, "IX"), (5, "V"), (4, "IV"), (1, "I")):
        while number >= value:
            text += sign
            number -= value
    return text
