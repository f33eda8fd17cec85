"""Laws of transposition."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import intervals, keys, scores
from variants.errors import Refusal
from variants.music import Interval, Key, Pitch
from variants.pipeline import run
from variants.score import Score, key_at_start, map_notes, notes, with_parts, without_places
from variants.steps.moves.intervals import keys as keys_of
from variants.steps.transpose import Transpose

plain = scores(symbols=False)


def bare(score: Score) -> Score:
    """Return a score without places and fingers, which no change of pitch keeps."""
    return with_parts(score, [map_notes(part, without_places) for part in score.parts])


def sounding(score: Score) -> list[int | Fraction]:
    """Return the heights of all pitched notes in the order of the file."""
    return [n.pitch.semitones for part in score.parts for n in notes(part) if n.pitch is not None]


def spelled(score: Score) -> list[Pitch]:
    """Return the pitches of all pitched notes in the order of the file."""
    return [n.pitch for part in score.parts for n in notes(part) if n.pitch is not None]


def pitched(score: Score) -> Score:
    """Return the score without its unpitched parts."""
    parts = [part for part in score.parts if any(note.pitch is not None for note in notes(part))]
    return with_parts(score, parts)


@settings(max_examples=40)
@given(plain, intervals())
def test_there_and_back(score: Score, interval: Interval) -> None:
    """Moving there and back gives the same notes; the same score if no name had to change."""
    there, back = Transpose(interval=interval), Transpose(interval=-interval)
    middle = there(score)
    result = back(middle)
    assert sounding(result) == sounding(score)
    renamed = any("another name" in str(change) for change in result.changes)
    same_way = there.interval_for(score) == interval
    if same_way and back.interval_for(middle) == -interval and not renamed:
        assert bare(result) == bare(score)


@settings(max_examples=40)
@given(plain, intervals(), intervals())
def test_one_after_the_other(score: Score, one: Interval, two: Interval) -> None:
    """Two moves are the move by their sum."""
    twice = run(score, [Transpose(interval=one), Transpose(interval=two)])
    assert sounding(twice.score) == sounding(Transpose(interval=one + two)(score))
    assert twice.interval is not None
    assert twice.interval.semitones == one.semitones + two.semitones


@settings(max_examples=40)
@given(plain, intervals())
def test_names_move_by_the_interval(score: Score, interval: Interval) -> None:
    """Letters move by the interval's steps, unless more than a double sign would be needed."""
    step = Transpose(interval=interval)
    moved, used = step(score), step.interval_for(score)
    for before, after in zip(spelled(score), spelled(moved), strict=True):
        wanted = before + used
        assert after.semitones == wanted.semitones
        assert after == wanted or abs(float(wanted.alter)) > 2
        assert abs(float(after.alter)) <= 2


@settings(max_examples=40)
@given(plain, intervals())
def test_keys_can_be_printed(score: Score, interval: Interval) -> None:
    """No key signature has more than seven signs, and each is as far away as the notes.

    Unpitched parts keep theirs.
    """
    moved = Transpose(interval=interval)(score)
    score, moved = pitched(score), pitched(moved)
    before, after = list(keys_of(score)), list(keys_of(moved))
    assert all(abs(key.fifths) <= 7 for key in after)
    for old, new in zip(before, after, strict=True):
        # Seven semitones a fifth: what sounds the same differs by twelve fifths.
        assert (7 * (new.fifths - old.fifths) - interval.semitones) % 12 == 0
        assert new.mode == old.mode


@settings(max_examples=35)
@given(plain, st.integers(-24, 24))
def test_semitones(score: Score, semitones: int) -> None:
    """Every note moves by the semitones that were asked for."""
    step = Transpose(semitones=semitones)
    assert step.interval_for(score).semitones == semitones
    assert sounding(step(score)) == [height + semitones for height in sounding(score)]


@settings(max_examples=35)
@given(plain, keys(), st.sampled_from(["nearest", "up", "down"]))
def test_to_a_key(score: Score, key: Key, direction: str) -> None:
    """The first key signature becomes the one that was asked for, the right way round."""
    step = Transpose(key=key, direction=direction, octave="keep")
    source = next((found for part in score.parts if (found := key_at_start(part))), None)
    try:
        moved = step(score)
    except Refusal:
        modes = {source.mode, key.mode} if source else {""}
        assert source is None or ("" not in modes and len(modes) == 2)
        return
    assert source is not None
    interval = step.interval_for(score)
    assert (7 * (key.fifths - source.fifths) - interval.semitones) % 12 == 0
    low, high = {"nearest": (-6, 6), "up": (0, 11), "down": (-11, 0)}[direction]
    assert low <= interval.semitones <= high
    first = next(found for part in moved.parts if (found := key_at_start(part)))
    others = {one.fifths for one in keys_of(score)}
    if len(others) == 1:
        assert first.fifths == key.fifths or abs(first.fifths - key.fifths) == 12


@settings(max_examples=35)
@given(plain, intervals())
def test_fitting_octave_is_the_best(score: Score, interval: Interval) -> None:
    """No other octave leaves fewer notes out of range, and the octaves are whole."""
    step = Transpose(interval=interval, octave="fit")
    kept, used = Transpose(interval=interval).interval_for(score), step.interval_for(score)
    assert (used.semitones - kept.semitones) % 12 == 0
    assert (used.steps - kept.steps) * 12 == (used.semitones - kept.semitones) * 7

    def outside(semitones: int) -> int:
        return sum(
            not part.instrument.lowest <= note.pitch.midi + semitones <= part.instrument.highest
            for part in score.parts
            if part.instrument is not None
            for note in notes(part)
            if note.pitch is not None
        )

    best = min(outside(kept.semitones + 12 * number) for number in range(-6, 7))
    assert outside(used.semitones) == best
    if outside(kept.semitones) == best:
        assert used == kept


@settings(max_examples=30)
@given(scores(), intervals())
def test_chord_symbols_move_with_the_notes(score: Score, interval: Interval) -> None:
    """Roots and basses move by the interval, and no stale diagram is left."""
    step = Transpose(interval=interval)
    used, moved = step.interval_for(score), step(score)
    if used == Interval(0, 0):
        assert moved == score
        return
    for old, new in zip(score.parts, moved.parts, strict=True):
        for before, after in zip(old.measures, new.measures, strict=True):
            for was, now in zip(before.harmonies, after.harmonies, strict=True):
                assert not now.frame
                for name, other in ((was.root, now.root), (was.bass, now.bass)):
                    assert (name is None) == (other is None)
                    if name is not None and other is not None:
                        sounds = (Pitch(*name, 4).pitch_class + used.semitones) % 12
                        assert Pitch(*other, 4).pitch_class == sounds


@given(scores(placed=True, voices=1))
def test_moved_notes_have_no_place(score: Score) -> None:
    """A place or finger of another pitch would be a lie."""
    moved = Transpose(interval=Interval.parse("M2"))(score)
    for part in moved.parts:
        for note in notes(part):
            assert note.place is None
            assert not note.finger
    unpitched = [part for part in score.parts if all(n.pitch is None for n in notes(part))]
    assert [part for part in moved.parts if part in unpitched] == unpitched


def test_replacing_is_not_changing() -> None:
    """A step with another value is another step."""
    step = Transpose(semitones=1)
    assert replace(step, semitones=2) != step
