"""How likely a phrase ends after each note of a line, by ear alone: lengths, metre, repetition.

Words, slurs and repeats say more where there are any (`variants.tune.phrases` adds them). What is
here is what a listener without the page has: a long note, a rest, the place in the measure, the
rhythm of the beginning coming again. The ingredients are those of the published models of melodic
grouping: rests and long notes (Lerdahl and Jackendoff, *A Generative Theory of Tonal Music*, 1983,
grouping preference rules 2 and 3), parallel rhythm (their rule 6; Bod, ICMC 2001), the usual number
of notes (Temperley, *The Cognition of Basic Musical Structures*, 2001). The weights were fitted
with `benchmarks.phrases` on one half of the folk songs of the Essen collection that music21 ships,
and measured on the other.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise


@dataclass(frozen=True, slots=True)
class SungNote:
    """One note of a line.

    Args:
        onset: Ticks from the start of the piece.
        end: Tick at which it is over, all ties counted.
        semitones: MIDI number of its pitch.
    """

    onset: int
    end: int
    semitones: int


@dataclass(frozen=True, slots=True)
class HeardMetre:
    """The metre that a line is heard in.

    Args:
        measure: Ticks of a full measure, more than 0.
        downbeat: Tick of a measure's start; the others follow a measure apart.
        beat: Ticks of a beat as it is counted, more than 0.
    """

    measure: int
    downbeat: int
    beat: int

    def is_downbeat(self, tick: int) -> bool:
        """Whether a measure begins at a tick."""
        return (tick - self.downbeat) % self.measure == 0

    def is_half(self, tick: int) -> bool:
        """Whether a measure or its second half begins at a tick."""
        return (tick - self.downbeat) * 2 % self.measure == 0


# The weight of each feature in the log-odds of an end, from `python -m benchmarks.phrases --fit`.
WEIGHTS = {
    "a rest follows": 1.905,
    "beats of rest": 0.807,
    "longer than usual": 0.398,
    "longer than the note before": 0.13,
    "longer than the note after": 0.292,
    "no neighbour is longer": 0.301,
    "as long as the longest": 0.711,
    "share of a measure": 1.569,
    "whole measures from the start": -1.148,
    "twice as many": 2.608,
    "begins on a downbeat": -1.256,
    "begins on half a measure": 0.683,
    "the first measure's rhythm again": 0.827,
    "the first two measures' rhythm again": 1.214,
    "leap to the next": 2.037,
    "the same pitch again": 0.788,
    "on the last note's degree": 0.182,
    "few notes so far": -3.147,
    "few notes to come": -1.348,
}
BIAS = -4.764
# Where the harmonic mean of precision and recall was best on the half that was fitted on.
THRESHOLD = -0.5


def gap_features(line: Sequence[SungNote], grid: HeardMetre) -> list[dict[str, float]]:
    """Return, for each note but the last, what speaks for or against a phrase's end after it.

    Args:
        line: The notes in order of time, no two at once; at least two.
        grid: The metre.
    """
    return [_features(around, grid) for around in _arounds(line, grid)]


def end_odds(line: Sequence[SungNote], grid: HeardMetre) -> list[float]:
    """Return the log-odds of a phrase's end after each note but the last.

    >>> notes = [SungNote(4 * n, 4 * n + 4, 60 + n % 3) for n in range(6)] + [SungNote(24, 32, 62)]
    >>> notes += [SungNote(note.onset + 32, note.end + 32, note.semitones) for note in notes]
    >>> odds = end_odds(notes, HeardMetre(measure=16, downbeat=0, beat=4))
    >>> odds.index(max(odds)) == 6
    True
    """
    return [
        BIAS + sum(WEIGHTS[name] * value for name, value in features.items())
        for features in gap_features(line, grid)
    ]


@dataclass(frozen=True, slots=True)
class _Around:
    """A note, its neighbours, and the line as a whole."""

    at: int
    line: Sequence[SungNote]
    steps: Sequence[int]
    median: int
    longest: int
    rhythms: Sequence[frozenset[int]]
    first_rhythms: tuple[frozenset[int], frozenset[int]]
    double: frozenset[int]


def _arounds(line: Sequence[SungNote], grid: HeardMetre) -> Iterator[_Around]:
    steps = [after.onset - note.onset for note, after in pairwise(line)]
    median = sorted(steps)[len(steps) // 2]
    one = _rhythms(line, grid.measure)
    two = _rhythms(line, 2 * grid.measure)
    for at in range(len(steps)):
        yield _Around(
            at, line, steps, max(1, median), max(steps), one, (one[0], two[0]), two[at + 1]
        )


def _rhythms(line: Sequence[SungNote], length: int) -> list[frozenset[int]]:
    """Return, for each note, when notes begin within a length of time from it on."""
    found = []
    last = 0
    for first, note in enumerate(line):
        last = max(last, first)
        while last < len(line) and line[last].onset < note.onset + length:
            last += 1
        found.append(frozenset(other.onset - note.onset for other in line[first:last]))
    return found


def _likeness(one: frozenset[int], other: frozenset[int]) -> float:
    return len(one & other) / len(one | other)


def _features(around: _Around, grid: HeardMetre) -> dict[str, float]:
    line, steps, at = around.line, around.steps, around.at
    note, after, step = line[at], line[at + 1], max(1, steps[at])
    before = max(1, steps[at - 1]) if at else step
    following = max(1, steps[at + 1]) if at + 1 < len(steps) else step
    rest = max(0, after.onset - note.end)
    travelled = after.onset - line[0].onset
    is_whole = travelled % grid.measure == 0
    degree = (note.semitones - line[-1].semitones) % 12
    return {
        "a rest follows": float(rest > 0),
        "beats of rest": min(rest / grid.beat, 2.0),
        "longer than usual": math.log2(step / around.median),
        "longer than the note before": math.log2(step / before),
        "longer than the note after": math.log2(step / following),
        "no neighbour is longer": float(
            step >= before and step >= following and (step > before or step > following)
        ),
        "as long as the longest": float(step == around.longest),
        "share of a measure": min(step / grid.measure, 1.0),
        "whole measures from the start": float(is_whole),
        "twice as many": float(is_whole and travelled // grid.measure % 2 == 0),
        "begins on a downbeat": float(grid.is_downbeat(note.onset)),
        "begins on half a measure": float(grid.is_half(note.onset)),
        "the first measure's rhythm again": (
            _likeness(around.rhythms[at + 1], around.first_rhythms[0]) if is_whole else 0.0
        ),
        "the first two measures' rhythm again": (
            _likeness(around.double, around.first_rhythms[1]) if is_whole else 0.0
        ),
        "leap to the next": min(abs(after.semitones - note.semitones), 12) / 12,
        "the same pitch again": float(after.semitones == note.semitones),
        "on the last note's degree": float(degree == 0),
        "few notes so far": max(0, 6 - (at + 1)) / 6,
        "few notes to come": float(len(line) - 2 - at < 4),
    }
