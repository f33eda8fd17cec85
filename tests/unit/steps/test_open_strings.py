"""Open strings used or avoided on small scores."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import STANDARD, line, open_strings
from variants.errors import Unplayable, UsageError
from variants.pipeline import run
from variants.score import Instrument, Mark, Score, Voice, notes, with_notes, with_parts
from variants.steps.open_strings import OpenStrings
from variants.steps.shift_position import ShiftPosition


def played(score: Score, use: str = "prefer") -> Score:
    """Return the score at its places, the contract proven."""
    return run(score, [OpenStrings(use=use)]).score


def places(score: Score) -> list[str]:
    """Return every note's place as ``string:fret``."""
    return [
        f"{one.place.string}:{one.place.fret}" if one.place else "-"
        for one in notes(score.parts[0])
    ]


def log(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


def test_a_scale_uses_every_open_string() -> None:
    """Notes of the open strings are open, the others in first position."""
    score = played(line("E2 G2 A2 C3 D3 E3 G3 A3 B3 C4 E4 G4"))
    assert places(score) == [
        *("6:0", "6:3", "5:0", "5:3", "4:0", "4:2"),
        *("3:0", "3:2", "2:0", "2:1", "1:0", "1:3"),
    ]
    assert "6 of 12 notes on open strings" in log(score)


def test_a_scale_without_open_strings() -> None:
    """Each note that has another place is stopped; the lowest string has only its open E."""
    score = played(line("A2 D3 G3 B3 E4 E2"), "avoid")
    frets = [place.split(":")[1] for place in places(score)]
    assert frets[-1] == "0"
    assert "0" not in frets[:-1]
    assert "E2 stays on the open string 6: there is no other place for it here" in log(score)


def test_open_strings_are_worth_the_way() -> None:
    """High on the neck an open string is used all the same, where it is sought."""
    score = played(line("C5 E4 D5 E4"))
    assert places(score)[1::2] == ["1:0", "1:0"]


def test_chords() -> None:
    """In a chord too: A minor from open strings, and stopped all through."""
    music = line("A2+E3+A3+C4+E4")
    assert places(played(music)) == ["5:0", "4:2", "3:2", "2:1", "1:0"]
    assert all(not place.endswith(":0") for place in places(played(music, "avoid")))


def test_places_before_are_counted() -> None:
    """The log says how many notes were on open strings before."""
    high = ShiftPosition(position=5)(line("A3 B3 E4 G4"))
    done = run(high, [OpenStrings()]).score
    assert "2 of 4 notes on open strings, 0 before" in log(done)
    back = run(done, [OpenStrings(use="avoid")]).score
    assert "0 of 4 notes on open strings, 2 before" in log(back)


def test_no_open_string_in_sight() -> None:
    """Where no note is an open string the log says what would help."""
    assert "another key, a capo or another tuning" in log(played(line("F#3 C#4 G#4")))


def test_a_taken_string_is_told() -> None:
    """An open string that another note needs is told with the note that is stopped instead."""
    short = Instrument(open_strings("B3 E4"), frets=5)
    score = played(line("E4+F4", instrument=short))
    assert places(score) == ["2:5", "1:1"]
    assert "measure 1, beat 1: E4 is stopped on string 2 fret 5: the open string is" in log(score)


def test_a_slide_stays_on_its_string() -> None:
    """A slide into a note that could be open is no reason to leave its string."""
    music = line("C4 E4")
    start, stop = (
        Mark("slide", "slide", role, "1", f'<slide type="{role}"/>') for role in ("start", "stop")
    )
    measure = music.parts[0].measures[0]
    events = tuple(
        with_notes(event, (replace(event.notes[0], marks=(mark,)),))
        for event, mark in zip(measure.voices[0].events, (start, stop), strict=True)
    )
    slid = replace(measure, voices=(Voice("1", events),))
    score = with_parts(music, [replace(music.parts[0], measures=(slid,))])
    first, second = (place.split(":")[0] for place in places(played(score)))
    assert first == second


def test_other_tunings_and_a_capo() -> None:
    """Open strings are those of the instrument, capo included."""
    capoed = replace(STANDARD, capo=2)
    assert places(played(line("F#4 B2", instrument=capoed))) == ["1:0", "5:0"]
    drop = Instrument(open_strings("D2 A2 D3 G3 B3 E4"))
    assert places(played(line("D2", instrument=drop))) == ["6:0"]


def test_refusals() -> None:
    """A note off the neck and a chord that no hand holds are refused with place and way out."""
    with pytest.raises(Unplayable, match=r"measure 1, beat 2: the neck has no C2; .*transpose"):
        played(line("E2 C2"))
    with pytest.raises(Unplayable, match=r"measure 1, beat 1: no hand can hold .*reduce-chords"):
        played(line("E2+F2"))
    with pytest.raises(UsageError, match="prefer or avoid"):
        OpenStrings(use="never")
