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
from variants.steps.wording.words import symbol_text


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


def with_symbol(score: Score, symbol: Harmony) -> Score:
    """Return the score with a chord symbol in its first measure."""
    part = score.parts[0]
    measure = replace(part.measures[0], harmonies=(symbol,))
    return with_parts(score, [replace(part, measures=(measure, *part.measures[1:]))])


@pytest.mark.parametrize(
    ("music", "symbol", "name"),
    [
        ("C3+G3:w", Harmony(0, ("C", 0), "power"), "C5/G"),
        ("G2+C3:w", Harmony(0, ("C", 0), "power", bass=("G", 0)), "C5"),
        ("A2+E3:w", Harmony(0, ("A", 0), "minor"), "Am/E"),
        # What the symbol calls the lowest note was not there, or the symbol stands elsewhere.
        ("C3+G3:w", Harmony(0, ("C", 0), bass=("E", 0)), "C/E"),
        ("C3+G3:h E3:h", Harmony(24, ("A", 0), "minor"), "Am"),
    ],
)
def test_a_chord_symbol_names_the_new_bass(music: str, symbol: Harmony, name: str) -> None:
    """A fifth with its fifth below is a chord over that fifth, as lead sheets write it."""
    result = inverted("invert-dyads", with_symbol(line(music), symbol))
    (found,) = result.parts[0].measures[0].harmonies
    assert symbol_text(found) == name
    said = f"the chord symbol {symbol_text(symbol)} is {name} now" in log(result)
    assert said == (found != symbol)


def test_a_diagram_of_the_old_shape_goes() -> None:
    """The log says that the diagram is dropped with the shape."""
    symbol = Harmony(0, ("C", 0), "power", frame="<frame/>")
    result = inverted("invert-dyads", with_symbol(line("C3+G3:w"), symbol))
    assert result.parts[0].measures[0].harmonies[0].frame == ""
    assert "measure 1, beat 1: the chord symbol C5 is C5/G now; its diagram is dropped" in (
        log(result)
    )


def over_bass(upper: str, lower: str) -> Score:
    """Return the score of two voices."""
    above, below = line(upper), line(lower).parts[0].measures[0].voices[0]
    part = above.parts[0]
    voices = (part.measures[0].voices[0], Voice("2", below.events))
    measure = replace(part.measures[0], voices=voices)
    return with_parts(above, [replace(part, measures=(measure,))])


def test_a_note_that_is_held_is_not_struck_again() -> None:
    """Where the note would land on one that another voice holds, the other note moves."""
    score = over_bass("F4 A3+D4 D4:h", "D3:w")
    result = inverted("invert-dyads:move=upper,intervals=all", score)
    assert tokens(result) == "F4 D4+A4 D4 D3"
    assert "measure 1, beat 2: the lower note goes up instead: another voice holds D3 there" in (
        log(result)
    )
    # With both ways barred the note is struck, and that is said.
    score = over_bass("F4 A3+D4 D4:h", "D3+A4:w")
    result = inverted("invert-dyads:move=upper,intervals=all", score)
    assert tokens(result) == "F4 D3+A3 D4 D3+A4"
    assert "another voice holds D3 there, and goes on under the new one" in log(result)


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
    assert "2 two-note chords turned upside down: 1 perfect fourth, 1 perfect fifth" in log(result)
    assert "1 chord of three or more notes left alone" in log(result)
    assert "1 other two-note chord left alone: 1 major third" in log(result)


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
    assert log(inverted("invert-dyads", score)) == (
        "no perfect fifth or perfect fourth to turn upside down: nothing is changed"
    )
