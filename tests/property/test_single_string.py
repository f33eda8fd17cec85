"""Laws of `single-string`."""

from __future__ import annotations

from copy import deepcopy

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import scores
from variants.contract import check
from variants.errors import Refusal
from variants.music import UNISON
from variants.score import Score, notes, onsets
from variants.steps.single_string import SingleString

lines = scores(most_notes=1, voices=1, microtones=False, min_midi=40, max_midi=76)
steps = st.builds(
    SingleString,
    string=st.integers(1, 6),
    fret=st.integers(0, 5),
    move=st.sampled_from(("auto", "auto", "never")),
)


@settings(max_examples=80)
@given(lines, steps)
def test_on_one_string_or_refused(score: Score, step: SingleString) -> None:
    """Every note is on the string from the fret on, or one line says why not."""
    before = deepcopy(score)
    refusal: Refusal | None = None
    result: Score | None
    try:
        result = step(score)
    except Refusal as error:
        refusal = error
        result = None
    assert score == before
    if result is None:
        assert refusal is not None
        assert refusal.way_out
        assert "\n" not in str(refusal)
        return
    interval = step.interval_for(score)
    check(step.keeps, score, result, shift=interval, step="single-string")
    for part in result.parts:
        for onset in onsets(part):
            assert len(onset.semitones) == 1
        for note in notes(part) if part.instrument else ():
            if note.place is None:
                assert note.pitch is None or note.tie_stop or _is_cue(result, note)
                continue
            assert note.place.string == step.string
            assert note.place.fret >= step.fret
            assert part.instrument is not None
            assert note.pitch is not None
            assert part.instrument.sounding(note.place) == note.pitch.midi
    assert step(result) == result
    assert step.interval_for(result) == UNISON


def _is_cue(score: Score, note: object) -> bool:
    return any(
        event.is_cue and note in event.notes
        for part in score.parts
        for measure in part.measures
        for voice in measure.voices
        for event in voice.events
    )


@settings(max_examples=60)
@given(lines, st.integers(1, 6))
def test_moves_only_when_it_must(score: Score, string: int) -> None:
    """A line that move=never plays is played at the same pitch by move=auto."""
    stay, move = SingleString(string=string, move="never"), SingleString(string=string)
    try:
        stayed = stay(score)
    except Refusal:
        return
    assert move(score) == stayed


@settings(max_examples=60)
@given(scores(most_notes=3, voices=2, microtones=False))
def test_two_at_once_are_never_let_through(score: Score) -> None:
    """A score with a chord in a fretted part is refused."""
    fretted = [part for part in score.parts if part.instrument] or list(score.parts)
    chords = any(len(one.semitones) > 1 for part in fretted for one in onsets(part))
    try:
        SingleString(string=1)(score)
    except Refusal:
        return
    assert not chords
