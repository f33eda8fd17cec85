"""Laws of the fingering engine: every answer is legal, stable, and no worse than a greedy one."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from tests.oracles.grip_laws import is_legal
from variants.fingering import (
    Fingered,
    Passage,
    PassageNote,
    Settings,
    UnplayableOnset,
    alternatives,
    finger,
)
from variants.fingering.features import OFFSETS, UNARY
from variants.fingering.model import SLICES, Model, fitted
from variants.fingering.passage import OpenStrings
from variants.fingering.search import NEVER
from variants.fingering.solve import prepared, solve
from variants.guitar.grip import Reach
from variants.guitar.hand import Hand

TICKS = 4
TUNINGS = ((64, 59, 55, 50, 45, 40), (64, 59, 55, 50, 45, 38), (69, 64, 60, 67))
WISHES = st.sampled_from(get_args(OpenStrings))


@st.composite
def passages(draw: st.DrawFn, *, chords: int = 3, low: int = 45, high: int = 76) -> Passage:
    """Draw up to ten onsets of up to three notes, some of them held over what follows."""
    notes = []
    for step in range(draw(st.integers(1, 10))):
        size = draw(st.integers(1, chords))
        midis = draw(st.lists(st.integers(low, high), min_size=size, max_size=size, unique=True))
        for number, midi in enumerate(midis):
            notes.append(
                PassageNote(
                    onset=step * TICKS,
                    duration=TICKS * draw(st.integers(1, 3)),
                    midi=midi,
                    voice=str(number),
                    measure=step // 4,
                    slurred_from=draw(st.booleans()) and not number,
                )
            )
    return Passage(
        notes=tuple(notes),
        ticks_per_quarter=TICKS,
        quarters_per_minute=draw(st.sampled_from((60.0, 120.0))),
        tuning_midi=draw(st.sampled_from(TUNINGS[:2])),
    )


def answered(passage: Passage, wishes: Settings | None = None) -> Fingered:
    """Finger a passage, and leave the example when no hand can play it."""
    try:
        return finger(passage, wishes or Settings())
    except UnplayableOnset:
        assume(False)
        raise


def sounding(passage: Passage, fingered: Fingered) -> list[tuple[tuple[int, int, int], ...]]:
    """Return what is held at each onset: new notes and held ones that were not let go."""
    until: dict[int, int] = {}
    for hand in fingered.hands:
        for head in hand.let_go:
            until[head] = min(until.get(head, hand.onset), hand.onset)
    shapes = []
    for hand in fingered.hands:
        held = [
            index
            for index, note in enumerate(passage.notes)
            if note.onset <= hand.onset < min(note.onset + note.duration, until.get(index, 1 << 30))
        ]
        places = [fingered.notes[index] for index in held]
        shapes.append(tuple((place.string, place.fret, place.finger) for place in places))
    return shapes


@settings(max_examples=60)
@given(passages(), st.sampled_from(("small", "medium", "large")), WISHES)
def test_every_answer_is_legal(passage: Passage, hand: str, opens: OpenStrings) -> None:
    """Pitch, one note a string with held notes, finger order, barres and span in mm."""
    fingered = answered(passage, Settings(hand=hand, open_strings=opens))
    reach = Reach(
        open_midi=passage.tuning_midi,
        top_frets=(22,) * len(passage.tuning_midi),
        offsets=(0,) * len(passage.tuning_midi),
        scale_mm=passage.scale_length_mm,
        hand=Hand.of(hand),
        strings=tuple(range(1, len(passage.tuning_midi) + 1)),
    )
    for note, place in zip(passage.notes, fingered.notes, strict=True):
        assert passage.tuning_midi[place.string - 1] + place.fret == note.midi
    for shape in sounding(passage, fingered):
        assert is_legal(shape, reach), shape


@settings(max_examples=30)
@given(passages())
def test_the_same_question_has_the_same_answer(passage: Passage) -> None:
    """No chance and no memory: asked twice, the answer is equal to the last number."""
    assert answered(passage) == answered(passage)


@settings(max_examples=40)
@given(passages())
def test_never_worse_than_the_greedy_answer(passage: Passage) -> None:
    """Taking the best next state each time never costs less than the search under its own cost."""
    wishes = Settings(repeat_alike=False)
    fingered = answered(passage, wishes)
    chain, between = prepared(passage, wishes, fitted())
    state = int(chain.layers[0].unary.argmax())
    score = float(chain.layers[0].unary[state])
    for layer, moves in zip(chain.layers[1:], between, strict=True):
        after = moves[state] + layer.unary
        state = int(after.argmax())
        score += float(after[state])
    assume(score > NEVER / 2)
    assert fingered.cost <= -score + 0.01


@settings(max_examples=40)
@given(passages(high=70), st.integers(1, 5), WISHES)
def test_a_capo_and_a_transposition_give_the_same_hand(
    passage: Passage, capo: int, opens: OpenStrings
) -> None:
    """Frets count from the capo: the same frets and fingers, the sound higher by the capo."""
    wishes = Settings(open_strings=opens)
    plain = answered(passage, wishes)
    raised = replace(
        passage,
        notes=tuple(replace(note, midi=note.midi + capo) for note in passage.notes),
        capo=capo,
        frets=passage.frets + capo,
    )
    assert answered(raised, wishes).notes == plain.notes


# What a grip at one height on the neck has and the same grip a fret higher has not.
HEIGHT = (
    "class fret",
    "finger fret",
    "string fret",
    "string position",
    "class position",
    "barre fret",
    "class open position",
)
FRET = 2 ** (1 / 12)


def without_height() -> Model:
    """Return the fitted weights without those for a height on the neck; all others are kept."""
    weights = fitted().weights.copy()
    names = [*OFFSETS, "end"]
    starts = [*OFFSETS.values(), UNARY]
    for name in HEIGHT:
        at = names.index(name)
        weights[SLICES["unary"]][starts[at] : starts[at + 1]] = 0.0
    return Model(weights)


def moved_by_a_fret(passage: Passage) -> Passage:
    """Return the passage a semitone up on a neck that is a fret longer.

    Its scale is longer by a fret's factor, so that the frets stand as far apart there as they did
    one below: without that, the frets get narrower and the same grip is another stretch.
    """
    return replace(
        passage,
        notes=tuple(replace(note, midi=note.midi + 1) for note in passage.notes),
        frets=passage.frets + 1,
        scale_length_mm=passage.scale_length_mm * FRET,
    )


def assert_moves_by_a_fret(passage: Passage, model: Model, lowest: int) -> None:
    """Check strings, frets and fingers of the whole answer, from a lowest position on."""
    limits = Settings(closed=True, positions=tuple(range(lowest, 19)))
    higher = replace(limits, positions=tuple(range(lowest + 1, 20)))
    try:
        there = solve(passage, limits, model)
    except UnplayableOnset:
        assume(False)
        raise
    moved = solve(moved_by_a_fret(passage), higher, model)
    up = [replace(place, fret=place.fret + 1) for place in there.notes]
    # Ways that cost the same may change places by the last bit of a float.
    assume(list(moved.notes) == up or abs(moved.cost - there.cost) > 1e-3)
    assert list(moved.notes) == up


@settings(max_examples=25)
@given(passages(chords=2, low=62, high=80))
def test_the_fitted_answer_moves_by_a_fret_where_the_neck_is_alike(passage: Passage) -> None:
    """From fret 13 on, nothing in the model tells one fret from the next but their distance.

    There a closed passage moved by a fret has the same strings and fingers, a fret higher, with
    all weights as they are fitted, where the distances in millimetres are the same.
    """
    assert_moves_by_a_fret(replace(passage, frets=24), fitted(), 13)


@settings(max_examples=25)
@given(passages(chords=2, low=50, high=74), st.integers(71, 76))
def test_height_alone_keeps_an_answer_from_moving_by_a_fret(passage: Passage, top: int) -> None:
    """Everywhere on the neck the answer moves with the passage once height has no weight.

    What a grip costs for standing where it stands is then the only part of the fitted model that
    a closed passage does not take along. One note above the first position keeps the cost of
    leaving that out of it; the lowest fret is left out, as below it lies the open string.
    """
    first = passage.notes[0]
    rising = replace(first, midi=top, onset=first.onset - 3 * TICKS, duration=TICKS)
    whole = replace(passage, notes=(rising, *passage.notes))
    assert_moves_by_a_fret(whole, without_height(), 2)


@settings(max_examples=30)
@given(st.lists(st.sampled_from((0, 1, 2, 3)), min_size=3, max_size=8), st.data())
def test_a_wished_place_is_kept(frets: list[int], data: st.DataObject) -> None:
    """A string and a finger asked for are hard constraints."""
    index = data.draw(st.integers(0, len(frets) - 1))
    notes = tuple(
        PassageNote(onset=i * TICKS, duration=TICKS, midi=60 + fret) for i, fret in enumerate(frets)
    )
    asked = replace(notes[index], string=3, finger=2)
    passage = Passage(notes=(*notes[:index], asked, *notes[index + 1 :]), ticks_per_quarter=TICKS)
    place = answered(passage).notes[index]
    assert (place.string, place.finger) == (3, 2)


@settings(max_examples=30)
@given(passages(chords=1), st.data())
def test_equal_measures_are_fingered_alike(passage: Passage, data: st.DataObject) -> None:
    """The same measure three times, with something else between: three equal fingerings."""
    one = [replace(note, slurred_from=False, duration=TICKS) for note in passage.notes[:4]]
    between = data.draw(st.integers(50, 80))
    notes: list[PassageNote] = []
    for repeat in range(3):
        start = repeat * 8 * TICKS
        notes += [replace(note, onset=note.onset + start, measure=2 * repeat) for note in one]
        notes.append(
            PassageNote(
                onset=start + 4 * TICKS,
                duration=TICKS,
                midi=between + repeat,
                measure=2 * repeat + 1,
            )
        )
    fingered = answered(replace(passage, notes=tuple(notes)))
    size = len(one) + 1
    measures = [fingered.notes[i * size : i * size + len(one)] for i in range(3)]
    assert measures[0] == measures[1] == measures[2]


@settings(max_examples=20)
@given(passages(chords=2), st.integers(2, 5))
def test_alternatives_differ_and_are_ranked(passage: Passage, count: int) -> None:
    """The first is the answer; each differs from the others; costs never fall."""
    first = answered(passage)
    found = alternatives(passage, count=count)
    assert found[0].cost <= first.cost
    assert len({fingered.notes for fingered in found}) == len(found)
    costs = [fingered.cost for fingered in found]
    assert costs == sorted(costs)


@settings(max_examples=25)
@given(passages(chords=2, low=50, high=67))
def test_the_limits_of_a_level_are_never_passed(passage: Passage) -> None:
    """Highest fret, strings, span, barres, fingers and open strings as hard limits."""
    limits = Settings(
        max_fret=7,
        allowed_strings=(1, 2, 3, 4),
        max_span_frets=3,
        barres=False,
        fingers=(1, 2, 3),
        closed=True,
    )
    fingered = answered(passage, limits)
    for place in fingered.notes:
        assert 1 <= place.fret <= 7
        assert place.string <= 4
        assert 1 <= place.finger <= 3
    assert all(hand.barre is None for hand in fingered.hands)


def test_a_note_out_of_range_is_refused_with_its_place() -> None:
    """The error names measure, beat, cause and way out, and carries the onset."""
    notes = (
        PassageNote(onset=0, duration=4, midi=64),
        PassageNote(onset=4, duration=4, midi=30, measure=0),
    )
    passage = Passage(notes=notes, ticks_per_quarter=TICKS, measure_starts=(0,))
    with pytest.raises(UnplayableOnset, match=r"measure 1, beat 2: .*; put .* or retune") as caught:
        finger(passage)
    assert (caught.value.onset, caught.value.notes) == (4, (1,))


LIMITS = st.builds(
    Settings,
    allowed_strings=st.sampled_from((None, (1,), (1, 2), (3,))),
    max_fret=st.sampled_from((None, 0, 1, 3, 12)),
    closed=st.booleans(),
    barres=st.booleans(),
    fingers=st.sampled_from(((1, 2, 3, 4), (1,), (2, 3), ())),
    open_strings=WISHES,
    position=st.sampled_from((None, 1, 5)),
)


@given(passages(low=52), LIMITS)
@settings(max_examples=60, deadline=None)
def test_whatever_the_limits_there_is_an_answer_or_a_reason(
    passage: Passage, limits: Settings
) -> None:
    """However narrow the limits are, it is an answer within them or one line that says why not."""
    reason = ""
    try:
        answer = finger(passage, limits)
    except UnplayableOnset as error:
        reason, answer = error.cause, Fingered(notes=(), hands=(), cost=0.0)
    assert bool(reason) != bool(answer.notes)
    strings = limits.allowed_strings or tuple(range(1, 7))
    highest = 99 if limits.max_fret is None else limits.max_fret
    assert all(note.string in strings and note.fret <= highest for note in answer.notes)
    assert not (limits.closed and any(note.fret == 0 for note in answer.notes))
