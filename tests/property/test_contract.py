"""The survey that contracts use, against the plain statement of what an onset is."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import scores
from variants.contract import Promise, check, composed, implied, strongest
from variants.errors import ContractBroken
from variants.score import Note, Score, map_notes, onsets, with_parts
from variants.score.survey import survey

promise_sets = st.frozensets(st.sampled_from(list(Promise)))


@settings(max_examples=60)
@given(scores())
def test_survey_sees_the_onsets(score: Score) -> None:
    """The fast pass finds exactly the onsets of `variants.score.onsets`."""
    for surveyed, part in zip(survey(score).parts, score.parts, strict=True):
        found = [
            (index, tick, grace, tuple(sorted(heights)))
            for index, moments in enumerate(surveyed.moments)
            for (tick, grace), heights in sorted(moments.items())
        ]
        assert found == [(o.measure, o.tick, o.grace, o.semitones) for o in onsets(part)]


@settings(max_examples=40)
@given(scores())
def test_drawn_scores_are_sound(score: Score) -> None:
    """What the strategies draw has no loose tie, no wrong place, no overfull measure."""
    for part in survey(score).parts:
        assert not (part.loose_ties)
        assert not (part.misplaced)
        assert not (part.shared_strings)
        assert not (part.overfull)


@settings(max_examples=30)
@given(scores(), st.sampled_from([2, 3]))
def test_doing_nothing_keeps_everything(score: Score, factor: int) -> None:
    """A score keeps every promise to itself, also when it counts more ticks."""
    check(Promise, score, score, step="nothing")
    finer = replace(score, ticks=score.ticks * factor, parts=_finer(score, factor).parts)
    check(Promise, score, finer, step="finer")
    check(Promise, finer, score, step="coarser")


def _finer(score: Score, factor: int) -> Score:
    parts = []
    for part in score.parts:
        measures = []
        for measure in part.measures:
            voices = tuple(
                replace(
                    voice,
                    events=tuple(
                        replace(e, onset=e.onset * factor, duration=e.duration * factor)
                        for e in voice.events
                    ),
                )
                for voice in measure.voices
            )
            harmonies = tuple(replace(h, onset=h.onset * factor) for h in measure.harmonies)
            measures.append(
                replace(measure, length=measure.length * factor, voices=voices, harmonies=harmonies)
            )
        parts.append(replace(part, measures=tuple(measures)))
    return with_parts(score, parts)


@settings(max_examples=30)
@given(scores(parts=1, unpitched=False, placed=False, rests=False, cues=False))
def test_one_moved_note_is_seen(score: Score) -> None:
    """A semitone more on every note breaks each promise about pitch classes that stay."""

    def raised(note: Note) -> Note:
        assert note.pitch is not None
        return replace(note, pitch=replace(note.pitch, alter=note.pitch.alter + 1))

    moved = with_parts(score, [map_notes(score.parts[0], raised)])
    for promise in (Promise.SOUNDING_PITCHES, Promise.TOP_LINE, Promise.SHIFTED_PITCH_CLASSES):
        with pytest.raises(ContractBroken, match=r"measure \d+, beat"):
            check({promise}, score, moved, step="wrong")
    check({Promise.ONSETS, Promise.MEASURE_LENGTHS}, score, moved, step="wrong")


@given(promise_sets)
def test_strongest_says_the_same(promises: frozenset[Promise]) -> None:
    """Leaving out what follows loses nothing, and what follows adds nothing new."""
    assert implied(strongest(promises)) == implied(promises)
    assert implied(implied(promises)) == implied(promises)


@given(promise_sets, promise_sets, promise_sets)
def test_composition_is_associative_and_weakening(
    one: frozenset[Promise], two: frozenset[Promise], three: frozenset[Promise]
) -> None:
    """A row of steps promises the same however it is bracketed, and nothing of its own."""
    left = composed(composed(one, two), three)
    assert left == composed(one, composed(two, three))
    assert composed(one, two) <= implied(one) & implied(two) | {Promise.ROOTS}
