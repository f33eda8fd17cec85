"""Counting syllables under the notes.

A struck note has its plain syllable. Beats that a note is held through stand in square brackets,
beats of rest in round ones, both counted silently (common practice): ``1 [2 3] (4)``. All voices
of a part are counted together.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import partial
from itertools import groupby

from variants.marks.lines import COUNTING, SPACE, with_line
from variants.marks.marking import Choice, MarkJob
from variants.marks.moments import MarkedMoment, State, moments_of, state_at, timed
from variants.marks.pulse import PulseGrid, grids
from variants.marks.syllables import SYSTEMS, Syllables
from variants.music.metre import counted_pulses
from variants.score import EventKey, Measure, Part

CHOICES = (
    Choice("system", ("numbers", "te-ta", "takadimi"), "the syllables"),
    Choice("compound", ("beats", "eighths"), "6/8 in two, or from 1 to 6"),
    Choice("held", ("held", "no-held"), "whether held beats are shown, in brackets"),
    Choice("rests", ("rests", "no-rests"), "whether silent beats are shown, in parentheses"),
)
_SHAPES = {State.STRUCK: "{}", State.HELD: "[{}]", State.SILENT: "({})"}

Counted = tuple[State, str]
_ON_THE_BEAT = Fraction(0)


def put_counting(job: MarkJob) -> Part:
    """Return the part with a line of syllables; measures without a metre are not counted."""
    texts: dict[EventKey, tuple[str]] = {}
    hidden = {
        state
        for state, word in ((State.HELD, "held"), (State.SILENT, "rests"))
        if job.chosen.get(word, word) != word
    }
    for index, voice, event, counted in _counts(job):
        shown = [one for one in counted if one[0] not in hidden]
        if shown:
            texts[index, voice, event] = (_text(shown),)
    return with_line(job.part, COUNTING, texts)


def count_part(
    part: Part, ticks: int, *, system: str = "numbers", compound: str = "beats"
) -> list[list[tuple[int, str]]]:
    """Return the syllables of a part for each measure as (tick, text), all of them.

    Raises:
        KeyError: There is no such system.
    """
    found: list[list[tuple[int, str]]] = [[] for _ in part.measures]
    job = MarkJob(part=part, ticks=ticks, chosen={"system": system, "compound": compound})
    for index, voice, event, counted in _counts(job):
        tick = part.measures[index].voices[voice].events[event].onset
        found[index].append((tick, _text(counted)))
    return found


def _text(counted: list[Counted]) -> str:
    """Return ``1 [2 3]`` from what was counted."""
    return SPACE.join(
        _SHAPES[state].format(SPACE.join(text for _, text in group))
        for state, group in groupby(counted, key=lambda one: one[0])
    )


def _counts(job: MarkJob) -> Iterator[tuple[int, int, int, list[Counted]]]:
    """Yield measure, voice and event of every moment with what is counted from there on."""
    system = SYSTEMS[job.chosen.get("system", "numbers")]
    each = job.chosen.get("compound") == "eighths"
    for view, grid in grids(job.part, job.ticks, partial(counted_pulses, each=each)):
        if not view.metre.is_measured:
            continue
        counter = _Counter(view.measure, grid, system)
        for moment in counter.moments:
            yield view.index, moment.voice, moment.event, counter.counted(moment)


class _Counter:
    """Counts one measure."""

    def __init__(self, measure: Measure, grid: PulseGrid, system: Syllables) -> None:
        self.grid = grid
        self.system = system
        self.events = timed(measure)
        self.moments = moments_of(self.events, measure.length)
        self.among: dict[int, set[Fraction]] = {}
        for moment in self.moments:
            pulse, place = grid.at(moment.tick)
            self.among.setdefault(pulse.number, set()).add(place)

    def counted(self, moment: MarkedMoment) -> list[Counted]:
        """Return the syllable of a moment and of the beats until the next one."""
        pulse, place = self.grid.at(moment.tick)
        among = self.among[pulse.number]
        found = [(moment.state, self.system.syllable(pulse, place, among))]
        while True:
            pulse, tick = self.grid.after(pulse)
            if tick >= moment.until:
                return found
            state = state_at(self.events, tick)
            if state is not None:
                found.append((state, self.system.syllable(pulse, _ON_THE_BEAT)))
