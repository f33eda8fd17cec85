"""The algebra of the smaller steps: there and back, twice is once, parts of a whole."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import scores
from variants.errors import Refusal
from variants.pipeline import run
from variants.score import (
    Score,
    Voice,
    map_notes,
    notes,
    onsets,
    timeline,
    with_parts,
    without_places,
)
from variants.score.playing import signs_of
from variants.score.survey import survey
from variants.steps.capo import Capo
from variants.steps.drop_ornaments import DropOrnaments
from variants.steps.expand_repeats import ExpandRepeats
from variants.steps.fold_octaves import FoldOctaves
from variants.steps.measures import Measures
from variants.steps.retune import Retune
from variants.steps.scale_values import ScaleValues
from variants.steps.slow import Slow


def heard(score: Score) -> list[list[tuple[Fraction, tuple[int | Fraction, ...]]]]:
    """Return what begins when in each part, in quarters from its start."""
    found = []
    for part in score.parts:
        starts, now = [], 0
        for measure in part.measures:
            starts.append(now)
            now += measure.length
        found.append(
            [
                (Fraction(starts[one.measure] + one.tick, score.ticks), one.semitones)
                for one in onsets(part)
            ]
        )
    return found


def bare(score: Score) -> Score:
    """Return the score without places, beams and log."""
    parts = []
    for part in score.parts:
        placed = map_notes(part, without_places)
        measures = tuple(
            replace(
                measure,
                voices=tuple(
                    Voice(v.id, tuple(replace(e, beams=()) for e in v.events))
                    for v in measure.voices
                ),
            )
            for measure in placed.measures
        )
        parts.append(replace(placed, measures=measures))
    return replace(score, parts=tuple(parts), changes=())


@settings(max_examples=25)
@given(scores())
def test_doubled_and_halved(score: Score) -> None:
    """Twice as long, then half as long, is the score with other beams, if it had a metre."""
    twice = run(score, [ScaleValues()]).score
    assert [[(2 * at, what) for at, what in part] for part in heard(score)] == heard(twice)
    back = run(twice, [ScaleValues(factor="1/2")]).score
    assert heard(back) == heard(score)
    values = [
        [event.value for m in part.measures for v in m.voices for event in v.events]
        for one in (score, back)
        for part in one.parts
    ]
    half = len(values) // 2
    assert values[:half] == values[half:]


@settings(max_examples=25)
@given(scores())
def test_folding_twice_is_folding_once(score: Score) -> None:
    """After folding, all that is fretted can be played, and nothing more moves."""
    try:
        once = run(score, [FoldOctaves()]).score
    except Refusal:
        return
    for part in once.parts:
        if part.instrument is not None:
            assert all(
                part.instrument.places(note.pitch.midi) for note in notes(part) if note.pitch
            )
    assert run(once, [FoldOctaves()]).score.parts == once.parts


@settings(max_examples=25)
@given(scores())
def test_in_range_nothing_folds(score: Score) -> None:
    """A note that the instrument has stays; what it lacks moves by whole octaves."""
    try:
        done = run(score, [FoldOctaves()]).score
    except Refusal:
        return
    for old, new in zip(score.parts, done.parts, strict=True):
        if old.instrument is None:
            continue
        before, after = timeline(old).struck, timeline(new).struck
        assert before.keys() == after.keys()
        for moment, here in before.items():
            now = {one.pitch.semitones for one in after[moment]}
            assert {p.pitch.semitones for p in here if old.instrument.places(p.pitch.midi)} <= now
            # Two that meet on one pitch are one note, under either of their names.
            assert {one % 12 for one in now} == {p.pitch.semitones % 12 for p in here}


@settings(max_examples=25)
@given(scores())
def test_plain_is_plain(score: Score) -> None:
    """No grace note is left, and a second time there is nothing to drop."""
    once = run(score, [DropOrnaments()]).score
    events = [
        event
        for part in once.parts
        for measure in part.measures
        for voice in measure.voices
        for event in voice.events
    ]
    assert all(event.grace is None or not event.notes for event in events)
    assert run(once, [DropOrnaments()]).score.parts == once.parts


@settings(max_examples=20)
@given(scores(in_range=True, parts=1, unpitched=False), st.integers(0, 5))
def test_capo_on_and_off(score: Score, fret: int) -> None:
    """The same shapes at a capo, and back to where it was, are the same sound and places."""
    instrument = score.parts[0].instrument
    old = instrument.capo if instrument is not None else 0
    try:
        up = run(score, [Capo(fret=fret, sound="higher")]).score
        back = run(up, [Capo(fret=old, sound="higher")]).score
    except Refusal:
        return
    assert heard(back) == heard(score)
    for was, now in zip(notes(score.parts[0]), notes(up.parts[0]), strict=True):
        # A place past the end of the neck is taken off, and the log says so.
        assert now.place in (was.place, None)


@settings(max_examples=20)
@given(scores(in_range=True, parts=1, unpitched=False))
def test_retuned_and_back(score: Score) -> None:
    """Drop D and back to standard sounds the same, note by note."""
    try:
        done = run(score, [Retune(), Retune(tuning="standard")]).score
    except Refusal:
        return
    assert bare(done).parts[0].measures == bare(_without_frames(score)).parts[0].measures


def _without_frames(score: Score) -> Score:
    def plain(part_index: int) -> tuple[object, ...]:
        return tuple(
            replace(m, harmonies=tuple(replace(h, frame="") for h in m.harmonies))
            for m in score.parts[part_index].measures
        )

    parts = [replace(p, measures=plain(i)) for i, p in enumerate(score.parts)]  # type: ignore[arg-type]
    return with_parts(score, parts)


@settings(max_examples=25)
@given(scores(measures=4), st.data())
def test_cut_in_two(score: Score, data: st.DataObject) -> None:
    """What two neighbouring ranges sound in a row is what the whole does, ties at the cut aside."""
    length = len(score.parts[0].measures)
    names = [measure.number for measure in score.parts[0].measures]
    at = data.draw(st.integers(1, max(1, length - 1)))
    if length < 2:
        return
    left = run(score, [Measures(range=f"{names[0]}-{names[at - 1]}")]).score
    right = run(score, [Measures(range=f"{names[at]}-")]).score
    for whole, first, second in zip(score.parts, left.parts, right.parts, strict=True):
        tied = {
            n.pitch.semitones
            for v in whole.measures[at].voices
            for e in v.events
            if not e.onset
            for n in e.notes
            if n.pitch and n.tie_stop
        }
        joined = [one.semitones for one in (*onsets(first), *onsets(second))]
        source = [one.semitones for one in onsets(whole)]
        if not tied:
            assert joined == source
    for part in (*survey(left).parts, *survey(right).parts):
        assert not part.loose_ties


@settings(max_examples=25)
@given(scores())
def test_written_out_has_no_signs(score: Score) -> None:
    """No sign is left; a repeated part sounds each of its measures as often as the order says."""
    done = run(score, [ExpandRepeats()])
    assert signs_of(done.score).is_empty
    assert done.order is not None
    for old, new in zip(score.parts, done.score.parts, strict=True):
        lengths = [old.measures[index].length for index in done.order]
        assert [measure.length for measure in new.measures] == lengths
    for part in survey(done.score).parts:
        assert not part.loose_ties


@settings(max_examples=15)
@given(scores(), st.integers(10, 99))
def test_slower_is_slower(score: Score, percent: int) -> None:
    """There is a tempo at the start, and no mark is faster than before."""
    done = run(score, [Slow(percent=percent)]).score
    assert any(one.quarters_per_minute for one in done.parts[0].measures[0].directions)
    assert heard(done) == heard(score)
