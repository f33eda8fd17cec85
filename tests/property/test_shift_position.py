"""Laws of `shift-position`."""

from __future__ import annotations

from copy import deepcopy

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import scores
from variants.contract import check
from variants.errors import Refusal
from variants.score import Score, map_notes, notes, with_parts, without_places
from variants.steps.framework.log import scribe
from variants.steps.lines.takes import instrument_at, takes_of
from variants.steps.shift_position import ShiftPosition

music = st.one_of(
    scores(most_notes=1, voices=1, in_range=True, max_midi=72, microtones=False),
    scores(most_notes=3, voices=2, in_range=True, max_midi=72, microtones=False),
)
open_strings = st.sampled_from(("allow", "avoid", "prefer"))
steps = st.one_of(
    st.builds(ShiftPosition, position=st.integers(1, 12), open=open_strings),
    st.builds(
        ShiftPosition,
        strings=st.sampled_from(((5, 4), (4, 3, 2), (3, 2, 1), (4, 3, 2, 1))),
        open=open_strings,
    ),
    st.builds(ShiftPosition),
)


@settings(max_examples=80)
@given(music, steps)
def test_within_the_wishes_or_refused(score: Score, step: ShiftPosition) -> None:
    """Every note is within position and strings and sounds its pitch, or one line says why not."""
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
    check(step.keeps, score, result, step="shift-position")
    assert step(result) == result
    for part in result.parts:
        instrument = part.instrument
        for note in notes(part) if instrument else ():
            if note.place is None or note.pitch is None or instrument is None:
                continue
            assert instrument.sounding(note.place) == note.pitch.midi
            assert not step.strings or note.place.string in step.strings
            if step.position is not None and note.place.fret:
                start = (
                    instrument.first_frets[note.place.string - 1] if instrument.first_frets else 0
                )
                assert step.position - 1 <= note.place.fret + start <= step.position + 4


@settings(max_examples=80)
@given(music, steps)
def test_one_note_a_string_at_a_time(score: Score, step: ShiftPosition) -> None:
    """No string is struck while another note is held on it; ties keep their place."""
    try:
        result = step(score)
    except Refusal:
        return
    for part in result.parts:
        if part.instrument is None:
            continue
        instrument_at(part)
        busy: dict[int, tuple[int, int]] = {}
        for take in takes_of(part, scribe("test", result, part)):
            found = {
                part.measures[m].voices[v].events[e].notes[n].place for m, v, e, n in take.heads
            }
            assert len(found) == 1
            place = found.pop()
            assert place is not None
            until, midi = busy.get(place.string, (0, -1))
            assert until <= take.start or midi == take.pitch.midi
            busy[place.string] = (max(until, take.end), take.pitch.midi)


@settings(max_examples=60)
@given(music, steps)
def test_old_places_do_not_matter(score: Score, step: ShiftPosition) -> None:
    """The answer is that of the notes alone."""
    bare = with_parts(score, [map_notes(part, without_places) for part in score.parts])
    assert answer(step, score) == answer(step, bare)


def answer(step: ShiftPosition, score: Score) -> list[object]:
    """Return the places that a step sets, or the words with which it refuses."""
    try:
        result = step(score)
    except Refusal as refusal:
        return [str(refusal)]
    return [note.place for part in result.parts for note in notes(part) if note.place]
