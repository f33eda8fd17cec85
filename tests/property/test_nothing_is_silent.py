"""Whatever a step changes of a note, the log names the measure; stated from the events alone."""

from __future__ import annotations

import re
from collections import Counter
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given, settings

from tests.property.test_steps_are_proofread import EXAMPLES, NARROW, SOURCES
from tests.strategies import scores
from variants.errors import Refusal
from variants.musicxml import read_bytes
from variants.pipeline import run
from variants.score import Change, Part, Score
from variants.steps import parse_step

# Steps that write measures again or give all of them other lengths say so once for all.
WHOLE = ("measures", "excerpt", "expand-repeats", "scale-values")
TEXTS = [text for text in [*EXAMPLES, NARROW] if not text.startswith(WHOLE)]
_RANGE = re.compile(r"measures? ((?:[^\s,;]+(?: to [^\s,;]+)?(?:, )?)+)")


def heads(score: Score, part: Part, shift: int) -> list[Counter[tuple[object, ...]]]:
    """Return what is struck in each measure: time, height, place; and what sounds at all."""
    return [
        Counter(
            (
                Fraction(event.onset, score.ticks),
                event.grace is not None,
                note.pitch.semitones + shift,
                note.place,
            )
            for voice in measure.voices
            for event in voice.events
            for note in event.notes
            if note.pitch is not None and not note.tie_stop and not event.is_cue
        )
        for measure in part.measures
    ]


def named(part: Part, changes: tuple[Change, ...]) -> set[str]:
    """Return the numbers of the measures that the log speaks of, ranges spelled out."""
    numbers = [measure.number for measure in part.measures]
    found: set[str] = set()
    for change in changes:
        if change.part not in ("", part.id):
            continue
        found.add(change.measure)
        for spans in _RANGE.findall(change.message):
            for span in spans.strip(", ").split(", "):
                first, _, last = span.partition(" to ")
                if first in numbers and (not last or last in numbers):
                    end = len(numbers) - numbers[::-1].index(last or first)
                    found.update(numbers[numbers.index(first) : end])
    return found


def silent(text: str, source: Score) -> list[str] | None:
    """Return the measures that differ and are not spoken of; none where the step refuses."""
    try:
        done = run(source, [parse_step(text)])
    except Refusal:
        return None
    shift = done.interval.semitones if done.interval else 0
    found = []
    parts = {part.id: part for part in source.parts}
    for part in done.score.parts:
        told = named(part, done.changes)
        pairs = zip(
            heads(source, parts[part.id], shift), heads(done.score, part, 0), part.measures,
            strict=True,
        )  # fmt: skip
        found += [one.number for old, new, one in pairs if old != new and one.number not in told]
    return found


@cache
def sample(name: str) -> Score:
    """Return a sample."""
    return read_bytes(SOURCES[name])


@pytest.mark.parametrize("text", TEXTS)
def test_every_change_in_the_samples_is_told(text: str) -> None:
    """Pitch, time, place or presence: the log names the measure of each note that differs."""
    done = {name: silent(text, sample(name)) for name in SOURCES}
    assert {name: one for name, one in done.items() if one} == {}


@pytest.mark.parametrize("text", TEXTS)
@settings(max_examples=6)
@given(score=scores(parts=1))
def test_every_change_of_drawn_scores_is_told(text: str, score: Score) -> None:
    """The same of whatever is drawn, grace notes, voices and microtones included."""
    assert not silent(text, score)
