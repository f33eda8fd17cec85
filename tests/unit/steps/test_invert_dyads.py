"""Inversion on small scores, with the facts of the neck."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import STANDARD, line, open_strings, tokens
from variants.errors import Refusal
from variants.pipeline import run
from variants.score import (
    Harmony,
    Instrument,
    Place,
    Score,
    Voice,
    map_notes,
    notes,
    with_parts,
)
from variants.steps import parse_step


def inverted(text: str, score: Score) -> Score:
    """Return the score after a step, its contract proven."""
    return run(score, [parse_step(text)]).score


def log(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


@pytest.mark.parametrize(
    ("text", "before", "after"),
    [
        ("invert-dyads", "A2+E3", "E2+A2"),
        ("invert-dyads", "E2+A2", "A2+E3"),
        ("invert-dyads", "A2+D3 D3+A3", "D3+A3 A2+D3"),
        ("invert-dyads:move=lower", "A2+E3 C4+E4", "E3+A3 C4+E4"),
        ("invert-dyads:move=upper", "D3+A3 G3", "A2+D3 G3"),
        ("invert-dyads:root=top", "D3+A3 A2+D3", "A2+D3 A2+D3"),
        ("invert-dyads:root=bottom", "D3+A3 A2+D3", "D3+A3 D3+A3"),
        ("invert-dyads:root=top,move=lower", "D3+A3", "A3+D4"),
        ("invert-dyads:move=lower,intervals=M3+m3", "C4+E4 D4+F4 G3+D4", "E4+C5 F4+D5 G3+D4"),
        ("invert-dyads:move=upper,intervals=all", "F3+B3 C3+B3 C4+C5", "B2+F3 B2+C3 C4+C5"),
        ("invert-dyads:move=lower,intervals=M3", "C3+E4", "E4+C5"),
        ("invert-dyads:move=upper,intervals=M3", "C4+E5", "E3+C4"),
        ("invert-dyads", "C4+E4+G4 E4", "C4+E4+G4 E4"),
    ],
)
def test_inversion(text: str, before: str, after: str) -> None:
    """Fifths and fourths by default, others by name; compound dyads move past the other note."""
    assert tokens(inverted(text, line(before))) == after


def test_open_e_cannot_go_down() -> None:
    """E5 on the open 6th string cannot invert downward: the root goes up (computed, trade 3)."""
    assert tokens(inverted("invert-dyads", line("E2+B2"))) == "B2+E3"
    result = inverted("invert-dyads:move=upper", line("E2+B2 A2+E3"))
    assert tokens(result) == "B2+E3 E2+A2"
    assert "measure 1, beat 1: the lower note goes up instead: the instrument cannot play B1" in (
        log(result)
    )


def test_a_riff_is_inverted_one_way() -> None:
    """Where the usual note cannot move in all dyads, the other moves in all of them."""
    result = inverted("invert-dyads", line("E2+B2 G2+D3 A2+E3 E2+B2"))
    assert tokens(result) == "B2+E3 D3+G3 E3+A3 B2+E3"
    assert "the root moves, because the other note would leave the instrument's range" in (
        log(result)
    )


def test_refusal_names_place_cause_and_way_out() -> None:
    """Neither note can move on an instrument of one fifth."""
    small = Instrument(open_strings("C4 G4"), frets=2)
    with pytest.raises(
        Refusal,
        match=r"measure 1, beat 2: neither note of C4 G4 can move past the other within the range"
        r" of the instrument \(MIDI 60 to 69\); transpose first",
    ):
        inverted("invert-dyads", line("C4 C4+G4", instrument=small))


def test_two_notes_need_two_strings() -> None:
    """A note that only one string has cannot stand beside another on the same string."""
    two_strings = Instrument(open_strings("E3 B3"), frets=12)
    result = inverted("invert-dyads", line("E3+B3", instrument=two_strings))
    assert tokens(result) == "B3+E4"
    one_string = Instrument(open_strings("E3"), frets=24)
    with pytest.raises(Refusal, match="neither note"):
        inverted("invert-dyads", line("E3+B3", instrument=one_string))


def test_ties_move_with_their_start() -> None:
    """A held dyad is inverted as one, over the barline too."""
    score = line("r:h. A2+E3:q~", "A2+E3:h~ A2+E3:h")
    assert tokens(inverted("invert-dyads", score)) == "r E2+A2~ E2+A2~ E2+A2"


def test_chord_symbol_decides_the_root() -> None:
    """A fourth has its root on top, unless a symbol names the lower note (Esus4)."""
    score = line("E3+A3:w")
    measure = replace(
        score.parts[0].measures[0], harmonies=(Harmony(0, ("E", 0), "suspended-fourth"),)
    )
    named = with_parts(score, [replace(score.parts[0], measures=(measure,))])
    assert tokens(inverted("invert-dyads:root=top", named)) == "A2+E3"
    assert tokens(inverted("invert-dyads:root=top", score)) == "E3+A3"


def test_pairs_in_two_voices_are_left_alone() -> None:
    """Two voices are two lines, not a dyad; the log says how many such pairs there are."""
    upper, lower = line("E3:w").parts[0], line("A2:w").parts[0]
    voices = (
        upper.measures[0].voices[0],
        Voice("2", lower.measures[0].voices[0].events),
    )
    measure = replace(upper.measures[0], voices=voices)
    score = with_parts(line("E3:w"), [replace(upper, measures=(measure,))])
    result = inverted("invert-dyads", score)
    assert result == score
    assert "1 pair of notes in two voices left alone" in log(result)


def test_log_counts_by_interval() -> None:
    """The log says how many of which interval turned, and what was left."""
    result = inverted("invert-dyads", line("A2+E3 E3+A3 C4+E4 C3+E3+G3"))
    assert "2 dyads inverted: 1 P4, 1 P5" in log(result)
    assert "1 chord of three or more notes left alone" in log(result)
    assert "1 other dyad left alone: 1 M3" in log(result)


def test_places_of_both_notes_go() -> None:
    """A place of one note alone could meet the other on its string."""
    score = line("A2+E3")
    part = map_notes(score.parts[0], lambda note: replace(note, place=None, finger="1"))
    first = replace(part.measures[0].voices[0].events[0].notes[0], place=Place(6, 5))
    event = part.measures[0].voices[0].events[0]
    event = replace(event, notes=(first, event.notes[1]))
    measure = replace(part.measures[0], voices=(Voice("1", (event,)),))
    score = with_parts(score, [replace(part, measures=(measure,), instrument=STANDARD)])
    for note in notes(inverted("invert-dyads", score).parts[0]):
        assert note.place is None
        assert not note.finger


def test_nothing_to_invert() -> None:
    """A melody stays as it is, and the log says why."""
    score = line("E4 G4 A4")
    assert inverted("invert-dyads", score) == score
    assert log(inverted("invert-dyads", score)) == "no dyad to invert"
