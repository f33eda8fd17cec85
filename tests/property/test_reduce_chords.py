"""Laws of reduction."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest
from hypothesis import given, settings

from tests.strategies import scores
from variants.music import Pitch
from variants.music.chord import root_of
from variants.score import Part, Score, events, notes, onsets, timeline
from variants.score.roots import roots
from variants.steps.reduce_chords import ReduceChords

LINES = ("root", "top", "bottom")
drawn = scores(parts=1, unpitched=False)


def sounding(part: Part) -> list[tuple[int, int]]:
    """Return start and end of every pitched note, in order of time, graces and cues aside."""
    starts, now = [], 0
    for measure in part.measures:
        starts.append(now)
        now += measure.length
    return sorted(
        (starts[index] + event.onset, starts[index] + event.end)
        for index, event in events(part)
        if event.grace is None and not event.is_cue
        for note in event.notes
        if note.pitch is not None
    )


@pytest.mark.parametrize("to", LINES)
@settings(max_examples=45)
@given(score=drawn)
def test_single_line(to: str, score: Score) -> None:
    """At no time do two notes sound."""
    spans = sounding(ReduceChords(to=to)(score).parts[0])
    for (_, end), (start, _) in pairwise(spans):
        assert end <= start
    assert all(start < end for start, end in spans)


@pytest.mark.parametrize("to", [*LINES, "dyad"])
@settings(max_examples=25)
@given(score=drawn)
def test_reducing_again_changes_nothing(to: str, score: Score) -> None:
    """A reduced score is reduced already."""
    step = ReduceChords(to=to)
    once = step(score)
    assert step(once).parts == once.parts


def struck_by(part: Part, moment: tuple[int, int, int]) -> dict[str, list[Pitch]]:
    """Return what each voice strikes at a moment."""
    found: dict[str, list[Pitch]] = {}
    for one in timeline(part).struck[moment]:
        voice = part.measures[one.key[0]].voices[one.key[1]].id
        found.setdefault(voice, []).append(one.pitch)
    return found


@pytest.mark.parametrize(("to", "pick"), [("top", -1), ("bottom", 0)])
@settings(max_examples=25)
@given(score=drawn)
def test_highest_and_lowest(to: str, pick: int, score: Score) -> None:
    """The note that is left is the highest or lowest one, at its height; one voice loses none."""
    before = {(o.measure, o.tick, o.grace): o.semitones for o in onsets(score.parts[0])}
    after = onsets(ReduceChords(to=to)(score).parts[0])
    left = {(o.measure, o.tick, o.grace): o.semitones for o in after}
    assert all(before[moment][pick] == height for moment, (height,) in left.items())
    voices = {name for moment in before for name in struck_by(score.parts[0], moment)}
    assert before.keys() == left.keys() or len(voices) > 1


@settings(max_examples=25)
@given(drawn)
def test_root(score: Score) -> None:
    """The note that is left is the root of the chord, or of what its voice strikes."""
    left = onsets(ReduceChords(to="root")(score).parts[0])
    kept = roots(score.parts[0])
    for one in left:
        (height,) = one.semitones
        moment = one.measure, one.tick, one.grace
        voices = struck_by(score.parts[0], moment).values()
        allowed = [kept[moment], *(root_of(each) for each in voices if len(voices) > 1)]
        assert height % 12 in {root.pitch_class for root in allowed if root is not None}


@pytest.mark.parametrize("other", ["outer", "fifth", "third"])
@settings(max_examples=25)
@given(score=drawn)
def test_dyad(other: str, score: Score) -> None:
    """Of three and more notes two are left, unasked the outer ones; of fewer, all."""
    step = ReduceChords(to="dyad", other=other)
    before, after = onsets(score.parts[0]), onsets(step(score).parts[0])
    for old, new in zip(before, after, strict=True):
        if not old.grace:
            assert len(new.semitones) == min(2, len(old.semitones))
            assert len(old.semitones) > 2 or old == new
            outer = old.semitones[0], old.semitones[-1]
            assert other != "outer" or (new.semitones[0], new.semitones[-1]) == outer


@pytest.mark.parametrize("to", [*LINES, "dyad"])
@settings(max_examples=25)
@given(score=drawn)
def test_marks_are_balanced(to: str, score: Score) -> None:
    """Every slur and bracket that begins ends."""
    roles: Counter[tuple[str, str]] = Counter()
    for _, event in events(ReduceChords(to=to)(score).parts[0]):
        roles.update((mark.name, mark.role) for mark in event.marks)
    for name in ("slur", "tuplet"):
        assert roles[name, "start"] == roles[name, "stop"]


@pytest.mark.parametrize("to", [*LINES, "dyad"])
@settings(max_examples=30)
@given(score=drawn)
def test_no_new_pitch_or_place(to: str, score: Score) -> None:
    """Every note that is left was there, at its pitch and place."""
    known: set[tuple[Pitch | None, object]] = {
        (note.pitch, note.place) for note in notes(score.parts[0])
    }
    for note in notes(ReduceChords(to=to)(score).parts[0]):
        assert (note.pitch, note.place) in known
