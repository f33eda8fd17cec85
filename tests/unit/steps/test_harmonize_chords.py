"""Chord symbols from the notes of small scores."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import line
from variants.errors import Refusal, UsageError
from variants.music import Pitch
from variants.pipeline import run
from variants.score import Harmony, Score, map_notes, with_parts
from variants.score.symbols import symbol_name
from variants.steps.harmonize_chords import HarmonizeChords
from variants.steps.reduce_chords import ReduceChords


def named(score: Score, per: str = "change") -> Score:
    """Return the score with its symbols, the contract proven."""
    return run(score, [HarmonizeChords(per=per)]).score


def symbols(score: Score) -> list[str]:
    """Return each symbol as ``measure/tick name``."""
    return [
        f"{measure.number}/{one.onset} {symbol_name(one)}"
        for measure in score.parts[0].measures
        for one in measure.harmonies
    ]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("C3+E3+G3", "C"),
        ("E3+G3+C4", "C/E"),
        ("A2+C3+E3", "Am"),
        ("G2+D3", "G5"),
        ("D3+G3", "G5/D"),
        ("G2+D3+G3", "G5"),
        ("G2+B2+D3+F3", "G7"),
        ("G2+B2+F3", "G7"),
        ("D3+G3+A3", "Dsus4"),
        ("B2+D3+F3+Ab3", "Bdim7"),
        ("C3+D3+G3", "Csus2"),
        ("D3+G3+C4", "Gsus4/D"),
        ("C3+E3+G3+D4", "C(add9)"),
        ("A2+C3+E3+G3", "Am7"),
    ],
)
def test_one_chord(before: str, after: str) -> None:
    """Triads, sevenths, suspensions; power chords as X5; inversions over their lowest note."""
    assert symbols(named(line(before))) == [f"1/0 {after}"]


def test_a_symbol_for_each_change() -> None:
    """A chord that is struck again, or loses a note, needs no new symbol."""
    score = named(line("C3+E3+G3 C3+E3+G3 C3+G3 F2+A2+C3", "F2+A2+C3 E4 r C3+G3"))
    assert symbols(score) == ["1/0 C", "1/36 F", "2/36 C5"]


def test_held_notes_belong_to_the_chord() -> None:
    """A bass that is held sounds with what is struck over it."""
    low, high = line("C3:w"), line("E3+G3:h A3+F3:h")
    voices = (low.parts[0].measures[0].voices[0], high.parts[0].measures[0].voices[0])
    measure = replace(low.parts[0].measures[0], voices=(voices[0], replace(voices[1], id="2")))
    score = with_parts(low, [replace(low.parts[0], measures=(measure,))])
    assert symbols(named(score)) == ["1/0 C", "1/24 F/C"]


def test_broken_chords() -> None:
    """What sounds within a measure or a beat is a chord; passing notes are left out."""
    music = line("C3 E3 G3 D3:e E3:e", "A2:e C3:e E3:e A3:e D3:e F3:e A3:h")
    assert symbols(named(music)) == []
    assert symbols(named(music, "measure"))[0] == "1/0 C"
    assert symbols(named(line("C3:e E3:s G3:s A2:e C3:s E3:s r:h"), "beat")) == ["1/0 C", "1/12 Am"]


def test_a_melody_is_no_thirteenth() -> None:
    """Of a scale within a measure the notes that last make the chord, not all of them."""
    music = line("C3 D3:e E3 F3:e G3", "C3 E3 G3 D3:e E3:e")
    assert symbols(named(music, "measure")) == ["1/0 C"]


def test_what_has_no_name_is_said() -> None:
    """A third alone and a cluster are told in the log; nothing is guessed."""
    score = named(line("C3+E3 C3+C#3+D3 C3+E3+G3 G3"))
    assert symbols(score) == ["1/24 C"]
    said = [str(change) for change in score.changes]
    assert said[0] == "1 chord symbol written from the notes, 1 different"
    assert said[1] == "measure 1, beat 1: C3 E3 have no chord name of their own, and so have 1 more"


def test_own_symbols_stay() -> None:
    """A part that has chord symbols is left as it is."""
    music = line("C3+E3+G3", "A2+C3+E3")
    part = music.parts[0]
    first = replace(part.measures[0], harmonies=(Harmony(0, ("A", 0), "minor-seventh"),))
    score = with_parts(music, [replace(part, measures=(first, *part.measures[1:]))])
    done = named(score)
    assert done.parts == score.parts
    assert "symbols of its own" in str(done.changes[0])


def test_thirteenth_is_asked_of_music21() -> None:
    """A chord that our table of intervals has, and one that only music21 unravels, are named."""
    assert symbols(named(line("C3+E3+G3+Bb3+D4"))) == ["1/0 C9"]
    assert symbols(named(line("C3+C#3+D3+D#3+E3"))) == []


def test_once_is_enough() -> None:
    """A second time changes nothing."""
    done = named(line("C3+E3+G3 F2+A2+C3"))
    assert named(done).parts == done.parts


def test_refusals() -> None:
    """A microtone is refused with its place and a way out; another word is a wrong call."""
    music = line("C3 E3")
    bent = Pitch("C", Fraction(1, 2), 3)
    score = with_parts(music, [map_notes(music.parts[0], lambda note: replace(note, pitch=bent))])
    with pytest.raises(Refusal, match="measure 1, beat 1"):
        named(score)
    with pytest.raises(UsageError, match="harmony, measure, beat or change"):
        HarmonizeChords(per="bar")


def test_roots_told_by_new_symbols_break_no_promise() -> None:
    """A row of steps promises the roots that the notes alone told only where they are kept."""
    music = line("C3+E3+G3:h A2+C3:h", "E3+A3:h C3+E3+A3:h")
    done = run(music, [HarmonizeChords(), ReduceChords(to="root")])
    assert done.kept
