"""What is given holds: all that a hand can hold, the rest let go with a line, pins never."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from variants.fingering import HandPin, Passage, PassageNote, Settings, UnplayableOnset, finger
from variants.fingering.keeping import loosened
from variants.fingering.score import finger_score
from variants.music import NoteValue, Pitch
from variants.score import (
    STANDARD_GUITAR,
    Event,
    Measure,
    Note,
    Part,
    Place,
    Score,
    Voice,
)


def _chord(*notes: PassageNote) -> Passage:
    return Passage(notes=notes)


def _note(midi: int, onset: int = 0, **wishes: int) -> PassageNote:
    return PassageNote(onset=onset, duration=480, midi=midi, **wishes)  # type: ignore[arg-type]


def _score(*notes: Note) -> Score:
    events = tuple(
        Event(4 * place, 4, NoteValue("quarter"), (note,)) for place, note in enumerate(notes)
    )
    measure = Measure("1", 4 * len(notes), (Voice("1", events),))
    return Score(4, (Part("P1", "Guitar", (measure,), instrument=STANDARD_GUITAR),))


def test_what_can_be_held_is_kept() -> None:
    """Wishes that a hand can hold come back as they are, however odd."""
    asked = _chord(_note(64, string=3, fret=9, finger=4), _note(67, 480, string=2, fret=8))
    kept, gone = loosened(asked, Settings())
    assert (kept, gone) == (asked, ())
    answer = finger(kept, Settings()).notes
    assert (answer[0].string, answer[0].fret, answer[0].finger) == (3, 9, 4)
    assert (answer[1].string, answer[1].fret) == (2, 8)


def test_two_notes_on_one_string() -> None:
    """Of two notes on one string the lower keeps it: the bass is what a hand is built on."""
    asked = _chord(_note(52, string=4, fret=2), _note(57, string=4, fret=7))
    kept, gone = loosened(asked, Settings())
    assert [(one.note, one.text) for one in gone] == [(1, "string 4, fret 7")]
    assert finger(kept, Settings()).notes[0].string == 4


def test_a_finger_yields_to_places() -> None:
    """Where a finger cannot stand at its place the place stays and the finger goes."""
    asked = _chord(_note(48, string=5, fret=3, finger=1), _note(52, string=4, fret=2, finger=2))
    kept, gone = loosened(asked, Settings())
    assert {one.what for one in gone} == {"finger"}
    assert [(n.string, n.fret) for n in finger(kept, Settings()).notes] == [(5, 3), (4, 2)]


def test_pins_come_first() -> None:
    """A pinned note keeps its place against one that comes from the file, lower or not."""
    asked = _chord(_note(52, string=4, fret=2), _note(57, string=4, fret=7))
    _, gone = loosened(asked, Settings(), pins={1: HandPin(string=4, fret=7)})
    assert [one.note for one in gone] == [0]


def test_two_pins_that_no_hand_can_join() -> None:
    """That is one line: where, what, and the way out."""
    asked = _chord(_note(52, string=4, fret=2), _note(57, string=4, fret=7))
    with pytest.raises(UnplayableOnset, match=r"string 4, fret 7 beside.*take one of the pins"):
        loosened(asked, Settings(), pins={n: HandPin(string=4) for n in range(2)})


def test_fingers_without_places_are_wishes() -> None:
    """A printed finger with no tab is kept: C4 with finger 3 is not the first position's C."""
    score = _score(Note(Pitch.parse("C4"), finger="3"), Note(Pitch.parse("D4"), finger="3"))
    done = finger_score(score, Settings(open_strings="usual"), loosen=True).score
    found = [event.notes[0] for event in done.parts[0].measures[0].voices[0].events]
    assert [note.finger for note in found] == ["3", "3"]


def test_what_is_let_go_is_told() -> None:
    """Measure, beat, what was there and why it went."""
    clash = Event(
        0, 4, NoteValue("quarter"),
        (Note(Pitch.parse("E3"), place=Place(4, 2)), Note(Pitch.parse("A3"), place=Place(4, 7))),
    )  # fmt: skip
    one = _score(Note(Pitch.parse("E3")))
    part = one.parts[0]
    measure = replace(part.measures[0], voices=(Voice("1", (clash,)),))
    score = replace(one, parts=(replace(part, measures=(measure,)),))
    done = finger_score(score, Settings(), loosen=True).score
    (line,) = done.changes
    assert str(line) == (
        "measure 1, beat 1: A3 was on string 4, fret 7, which no hand can hold here; chosen anew"
    )


PLACES = st.tuples(st.integers(min_value=1, max_value=6), st.integers(min_value=0, max_value=12))
OPEN = (64, 59, 55, 50, 45, 40)


@given(
    st.lists(
        st.tuples(
            st.lists(PLACES, min_size=1, max_size=3),
            st.one_of(st.none(), st.integers(min_value=0, max_value=4)),
        ),
        min_size=1,
        max_size=4,
    )
)
@settings(max_examples=40, deadline=None)
def test_whatever_is_wished_is_fingered(
    chords: list[tuple[list[tuple[int, int]], int | None]],
) -> None:
    """Any places and fingers at all: what is kept is in the answer, what is not was told."""
    notes = []
    for number, (places, wished) in enumerate(chords):
        for string, fret in {OPEN[s - 1] + f: (s, f) for s, f in places}.values():
            notes.append(
                PassageNote(
                    onset=480 * number,
                    duration=480,
                    midi=OPEN[string - 1] + fret,
                    string=string,
                    fret=fret,
                    finger=wished,
                )
            )
    asked = Passage(notes=tuple(notes))
    try:
        finger(Passage(notes=tuple(replace(n, string=None, fret=None, finger=None) for n in notes)))
    except UnplayableOnset:
        assume(False)  # no hand plays these notes, wishes or none
    kept, gone = loosened(asked, Settings())
    answer = finger(kept, Settings()).notes
    told = {(one.note, one.what) for one in gone}
    for index, (note, given_, found) in enumerate(zip(notes, kept.notes, answer, strict=True)):
        assert (given_.string is None) == ((index, "place") in told)
        assert (given_.finger is None) == ((index, "finger") in told or note.finger is None)
        if given_.string is not None:
            assert (found.string, found.fret) == (note.string, note.fret)
        if given_.finger is not None:
            assert found.finger == note.finger


def test_one_pitch_twice_in_a_chord_is_two_strings() -> None:
    """G sharp and A flat struck together cannot lie on one string and fret twice."""
    pair = (Note(Pitch.parse("G#3")), Note(Pitch.parse("Ab3")))
    one = _score(pair[0])
    part = one.parts[0]
    chord = Event(0, 4, NoteValue("quarter"), pair)
    measure = replace(part.measures[0], voices=(Voice("1", (chord,)),))
    score = replace(one, parts=(replace(part, measures=(measure,)),))
    done = finger_score(score, Settings()).score
    notes = done.parts[0].measures[0].voices[0].events[0].notes
    assert len({note.place.string for note in notes if note.place is not None}) == 2


def test_a_place_of_another_pitch_is_told() -> None:
    """A place that does not sound its note (a harmonic's, for one) is chosen anew, with a line."""
    wrong = Note(Pitch.parse("E4"), place=Place(6, 12))
    done = finger_score(_score(wrong), Settings(), loosen=True)
    (line,) = done.score.changes
    assert (line.measure, line.beat) == ("1", "1")
    assert line.message == "string 6, fret 12 does not sound E4; chosen anew"
