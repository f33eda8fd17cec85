"""The step `slow`: a practice tempo."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.music import NoteValue, single_value
from variants.score import Change, Direction, Measure, Part, Score, with_parts
from variants.score.timeline import DEFAULT_QUARTERS_PER_MINUTE
from variants.steps.framework.log import Scribe, scribe
from variants.steps.framework.reading import whole
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.wording.tempo_text import (
    beat_unit,
    metronome_xml,
    shown,
    with_rates,
    with_tempo,
)

_NAME = "slow"
_LEAST_PERCENT, _MOST_PERCENT = 10, 100
_QUARTER = NoteValue("quarter")


@register(_NAME, examples=("slow", "slow:percent=80"))
@dataclass(frozen=True, slots=True, kw_only=True)
class Slow(Checked):
    """Slow down to a practice tempo: every tempo mark, or a new one where there is none.

    Numbers are rounded to whole beats a minute, as metronomes are set. Music without a tempo at
    its start is supposed to go at 120 quarters a minute, as MIDI files have it.
    """

    percent: int = parameter(60, "the tempo in percent of the one that is marked", whole(10, 100))
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.SOUNDING_PITCHES, *TIMES})

    def __call__(self, score: Score) -> Score:
        """Return the score at the slower tempo."""
        changes: list[Change] = []
        parts = [self._slowed(scribe(_NAME, score, part), changes) for part in score.parts]
        if parts and parts[0].measures and not _has_start(score):
            parts[0], line = self._marked(scribe(_NAME, score, parts[0]))
            changes.insert(0, line)
        return with_parts(score, parts, changes)

    def _scaled(self, rate: Fraction) -> Fraction:
        # Half a beat is rounded up: a metronome has whole numbers.
        return Fraction(max(1, int(rate * self.percent / 100 + Fraction(1, 2))))

    def _slowed(self, log: Scribe, changes: list[Change]) -> Part:
        done: list[Measure] = []
        for index, measure in enumerate(log.part.measures):
            directions = []
            for one in measure.directions:
                slower = self._direction(one)
                if slower is not one:
                    changes.append(log.at(index, one.onset, _told(one, slower, self.percent)))
                directions.append(slower)
            kept = tuple(directions)
            done.append(
                measure if kept == measure.directions else replace(measure, directions=kept)
            )
        return replace(log.part, measures=tuple(done))

    def _direction(self, one: Direction) -> Direction:
        xml = with_rates(one.xml, self._scaled)
        old = one.quarters_per_minute
        if old is None:
            return one if xml == one.xml else replace(one, xml=xml)
        unit = beat_unit(one.xml) or _QUARTER
        quarters = unit.quarters or Fraction(1)
        new = self._scaled(old / quarters) * quarters
        return replace(
            one,
            xml=xml,
            sound=with_tempo(one.sound, lambda _: new),
            quarters_per_minute=new,
        )

    def _marked(self, log: Scribe) -> tuple[Part, Change]:
        """Return the part with a tempo mark at its start, in the beats of its metre."""
        first = log.views[0]
        lengths = first.metre.beat_lengths
        value = single_value(lengths[0]) if lengths and len(set(lengths)) == 1 else None
        unit = value if value is not None and value.quarters else _QUARTER
        quarters = unit.quarters or Fraction(1)
        rate = self._scaled(DEFAULT_QUARTERS_PER_MINUTE / quarters)
        tempo = rate * quarters
        mark = Direction(
            0,
            metronome_xml(unit, rate),
            f'<sound tempo="{shown(tempo)}"/>',
            quarters_per_minute=tempo,
            placement="above",
        )
        head = replace(first.measure, directions=(mark, *first.measure.directions))
        line = log.at(
            0,
            0,
            f"tempo {unit} = {shown(rate)}: {self.percent} percent of the usual 120 quarters a"
            " minute, since no tempo is marked here",
        )
        return replace(log.part, measures=(head, *log.part.measures[1:])), line


def _has_start(score: Score) -> bool:
    """Whether any part says how fast the music begins."""
    return any(
        one.quarters_per_minute and not one.onset
        for part in score.parts
        for measure in part.measures[:1]
        for one in measure.directions
    )


def _told(old: Direction, new: Direction, percent: int) -> str:
    unit = beat_unit(old.xml) or _QUARTER
    quarters = unit.quarters or Fraction(1)
    if old.quarters_per_minute is None or new.quarters_per_minute is None:
        return f"the tempo mark is slower, at {percent} percent"
    before, after = old.quarters_per_minute / quarters, new.quarters_per_minute / quarters
    return f"practice tempo: {unit} = {shown(after)} instead of {shown(before)}"
