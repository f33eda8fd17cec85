"""A line on one string: where it lands, when it moves, what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import INSTRUMENTS, line, places
from variants.contract import check
from variants.errors import Refusal, UsageError
from variants.music import UNISON, NoteValue, Pitch
from variants.pipeline import run
from variants.score import Event, Note, Place, Score, Voice, notes
from variants.steps import parse_step
from variants.steps.single_string import SingleString


def on_string(score: Score, step: SingleString) -> Score:
    """Return the result after checking its contract and that once is enough."""
    result = step(score)
    check(step.keeps, score, result, shift=step.interval_for(score), step="single-string")
    assert step(result) == result
    return result


def test_keeps_the_pitch_where_it_fits() -> None:
    """Natural notes of the first string stand at frets 0, 1, 3, 5, 7, 8. Common practice."""
    music = line("E4 F4 G4 A4", "B4 C5 r:h")
    result = on_string(music, SingleString(string=1))
    assert places(result) == "1:0 1:1 1:3 1:5 1:7 1:8"
    assert SingleString(string=1).interval_for(music) == UNISON
    texts = [str(change) for change in result.changes]
    assert texts == ["6 notes on string 1 (E4), frets 0 to 8"]


def test_ties_and_grace_notes_have_places_too() -> None:
    """A held note stays where it was struck."""
    result = on_string(line("E4~ E4 F4:h~", "F4:w"), SingleString(string=2))
    assert places(result) == "2:5 2:5 2:6 2:6"


def test_an_octave_keeps_the_key() -> None:
    """Octaves that fit are taken before any other interval, down to the lowest place."""
    step = SingleString(string=6)
    high = line("E5 G5 A5 B5")
    assert str(step.interval_for(high)) == "-P22"
    result = on_string(high, step)
    assert places(result) == "6:0 6:3 6:5 6:7"
    assert "still in C major" in str(result.changes[0])


def test_else_the_lowest_note_sits_at_the_fret() -> None:
    """Where no octave fits, the line moves so that its lowest note is at the chosen fret."""
    music = line("C3 E3 G3 C5")  # two octaves: 24 semitones, more than 22 frets
    with pytest.raises(Refusal, match="the line spans 24 semitones, from C3"):
        SingleString(string=6)(music)
    music = line("G2 B2 D3 E4")  # 21 semitones
    result = on_string(music, SingleString(string=6, fret=1))
    assert min(note.place.fret for note in notes(result.parts[0]) if note.place) == 1
    assert "down a major second, from C major to Bb major" in str(result.changes[0])


def test_the_way_out_of_a_wide_line_leads_out() -> None:
    """The folding that the refusal names makes the line fit."""
    music = line("C3 E3 G3 C5")
    with pytest.raises(Refusal) as caught:
        SingleString(string=6)(music)
    assert "put fold-octaves:lowest=C3,highest=Bb4 before it" in caught.value.way_out
    folded = run(music, [parse_step("fold-octaves:lowest=C3,highest=Bb4"), SingleString(string=6)])
    assert places(folded.score).startswith("6:")


def test_never_moves_when_told_so() -> None:
    """move=never refuses and names the first note that does not fit."""
    with pytest.raises(Refusal) as caught:
        SingleString(string=5, move="never")(line("A2 G2 A2 B2"))
    assert str(caught.value) == (
        "measure 1, beat 2: G2 lies below fret 0 of string 5; leave out move=never, or choose"
        " another string"
    )


def test_two_notes_at_once() -> None:
    """A chord is refused with place, cause and way out."""
    with pytest.raises(Refusal) as caught:
        SingleString(string=1)(line("E4 F4 G4 A4", "E4 F4 E4+G4 A4", "E4 F4 G4 A4"))
    assert str(caught.value) == (
        "measure 2, beat 3: two notes cannot sound on one string; put reduce-chords before it"
    )


def test_parts_that_no_one_interval_fits() -> None:
    """Two parts on one string by one interval: which note of which part stands against it."""
    low, high = line("E2 F2 G2 A2"), line("E4 F4 G4 A5")
    duet = replace(low, parts=(*low.parts, replace(high.parts[0], id="P2", name="Second")))
    with pytest.raises(Refusal) as caught:
        SingleString(string=6)(duet)
    assert str(caught.value) == (
        "part Second, measure 1, beat 4: no one interval puts every part on string 6: E2 in part"
        " Guitar may only move up, A5 here only down, by 19 semitones or more; take one part with"
        " choose-part"
    )


def test_a_note_held_in_another_voice() -> None:
    """A note that is still held takes the string."""
    music = line("E4:h F4:h")
    measure = music.parts[0].measures[0]
    low = Voice("2", (Event(12, 36, NoteValue("half", 1), (Note(Pitch.parse("C4")),)),))
    voices = (*measure.voices, low)
    part = replace(music.parts[0], measures=(replace(measure, voices=voices),))
    with pytest.raises(Refusal, match=r"measure 1, beat 2: E4 is still held when C4 begins"):
        SingleString(string=2)(replace(music, parts=(part,)))


def test_microtones_and_missing_strings() -> None:
    """A fret stops no quarter tone, a bass has no fifth string."""
    bass = replace(line("E2 F2 G2 A2").parts[0], instrument=INSTRUMENTS[3])
    with pytest.raises(Refusal, match="the instrument has no string 5; use string=1 to 4"):
        SingleString(string=5)(replace(line("E2"), parts=(bass,)))
    with pytest.raises(Refusal, match="string 1 has no fret 30; use fret=0 to 22"):
        SingleString(string=1, fret=30)(line("E4"))


def test_a_capo_and_a_short_string() -> None:
    """Frets count from the capo, and on a banjo's fifth string from where it starts."""
    dadgad = replace(line("E4 F#4 A4 B4").parts[0], instrument=INSTRUMENTS[2])
    result = on_string(replace(line("E4"), parts=(dadgad,)), SingleString(string=1))
    assert places(result) == "1:0 1:2 1:5 1:7"
    banjo = replace(line("G4 A4 B4 G4").parts[0], instrument=INSTRUMENTS[5])
    result = on_string(replace(line("E4"), parts=(banjo,)), SingleString(string=5))
    assert places(result) == "5:0 5:2 5:4 5:0"


def test_without_an_instrument_the_standard_guitar() -> None:
    """What is assumed is said."""
    result = SingleString(string=1)(line("E4 F4 G4 A4", instrument=None))
    assert places(result) == "1:0 1:1 1:3 1:5"
    assert result.parts[0].instrument is not None
    assert "a guitar in standard tuning" in str(result.changes[0])


def test_a_new_place_erases_the_finger() -> None:
    """A finger stays only where the place was the same."""
    music = line("E4 F4 r:h")
    measure = music.parts[0].measures[0]
    fingered = tuple(
        replace(event, notes=tuple(replace(n, place=Place(1, 0), finger="0") for n in event.notes))
        if event.onset == 0
        else event
        for event in measure.voices[0].events
    )
    measure = replace(measure, voices=(Voice("1", fingered),))
    score = replace(music, parts=(replace(music.parts[0], measures=(measure,)),))
    same = [note.finger for note in notes(SingleString(string=1)(score).parts[0])]
    other = [note.finger for note in notes(SingleString(string=2)(score).parts[0])]
    assert (same, other) == (["0", ""], ["", ""])


def test_written_form_and_wrong_values() -> None:
    """The step is read from text and refuses what is out of range."""
    assert parse_step("single-string:string=5,fret=2") == SingleString(string=5, fret=2)
    with pytest.raises(UsageError, match="13 is out of range"):
        parse_step("single-string:string=13")
    with pytest.raises(UsageError, match="move cannot be 'maybe'"):
        SingleString(move="maybe")


def test_always_puts_the_lowest_note_at_the_fret() -> None:
    """A line that fits as it is moves all the same when it is to start on the open string."""
    step = SingleString(string=5, move="always")
    music = line("C3 D3 E3 C3")
    result = on_string(music, step)
    assert places(result) == "5:0 5:2 5:4 5:0"
    assert str(step.interval_for(music)) == "-m3"
    assert "so that the lowest note is the open string" in str(result.changes[0])
