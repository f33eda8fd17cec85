"""Doubled and halved values on small scores."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import line, tokens
from variants.errors import Refusal
from variants.music import Metre, NoteValue
from variants.pipeline import run
from variants.score import Attributes, Direction, Harmony, Mark, Score, Voice, events, with_parts
from variants.steps import ScaleValues, parse_step

TEMPO = Direction(
    0,
    "<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>80</per-minute>"
    "</metronome></direction-type>",
    '<sound tempo="80"/>',
    quarters_per_minute=Fraction(80),
)


def scaled(score: Score, text: str = "scale-values") -> Score:
    """Return the score after the step, proven."""
    return run(score, [parse_step(text)]).score


def with_first(score: Score, **changes: object) -> Score:
    """Return the score with its first measure changed."""
    part = score.parts[0]
    first = replace(part.measures[0], **changes)  # type: ignore[arg-type]
    return with_parts(score, [replace(part, measures=(first, *part.measures[1:]))])


def values(score: Score) -> list[str]:
    """Return the values of a score in words."""
    return [str(event.value) for _, event in events(score.parts[0])]


def test_doubled() -> None:
    """Values, metre, lengths and onsets are twice as long; the notes are the same."""
    done = scaled(line("E4:e F4:e G4 A4:h", "C5:w"))
    assert tokens(done) == "E4 F4 G4 A4 C5"
    assert values(done) == ["quarter", "quarter", "half", "whole", "breve"]
    assert done.parts[0].measures[0].attributes[0].metre == Metre(("4",), (2,))
    assert Fraction(done.parts[0].measures[0].length, done.ticks) == 8


def test_halved_and_back() -> None:
    """Doubling what was halved gives the same values, metre and beams."""
    score = scaled(scaled(line("E4 F4 G4:e A4:e B4")), "scale-values:factor=1/2")
    assert values(score) == values(line("E4 F4 G4:e A4:e B4"))
    assert score.parts[0].measures[0].attributes[0].metre == Metre()


def test_beams_are_drawn_anew() -> None:
    """Halved quarters are beamed eighths, doubled eighths have no beams."""
    halved = scaled(line("E4 F4 G4 A4"), "scale-values:factor=1/2")
    beams = [event.beams for _, event in events(halved.parts[0])]
    assert beams == [("begin",), ("continue",), ("continue",), ("end",)]
    doubled = scaled(halved)
    assert [event.beams for _, event in events(doubled.parts[0])] == [()] * 4


@pytest.mark.parametrize(
    ("text", "unit", "rate", "sound"),
    [
        ("scale-values", "half", "80", Fraction(160)),
        ("scale-values:factor=1/2", "eighth", "80", Fraction(40)),
        ("scale-values:tempo=keep", "quarter", "80", Fraction(80)),
    ],
)
def test_tempo(text: str, unit: str, rate: str, sound: Fraction) -> None:
    """Alike: the mark counts the other value, so it sounds as before. Keep: the mark stays."""
    done = scaled(with_first(line("E4:w"), directions=(TEMPO,)), text)
    mark = done.parts[0].measures[0].directions[0]
    assert f"<beat-unit>{unit}</beat-unit>" in mark.xml
    assert f"<per-minute>{rate}</per-minute>" in mark.xml
    assert mark.quarters_per_minute == sound
    assert f'tempo="{sound}"' in mark.sound


def test_chord_symbols_and_tuplets_move_along() -> None:
    """A chord symbol on beat 3 stays there; a triplet counts the other value."""
    score = with_first(line("E4:h F4:h"), harmonies=(Harmony(24, ("C", 0)),))
    assert scaled(score).parts[0].measures[0].harmonies[0].onset == 48
    triplet = NoteValue("eighth", 0, 3, 2, "eighth")
    bracket = Mark(
        "tuplet",
        "tuplet",
        "start",
        "1",
        "<tuplet><tuplet-actual><tuplet-type>eighth</tuplet-type></tuplet-actual></tuplet>",
    )
    row = [
        replace(event, value=triplet, duration=4, onset=4 * i, marks=(bracket,) * (i == 0))
        for i, (_, event) in enumerate(events(line("E4 F4 G4").parts[0]))
    ]
    score = with_first(line("E4 F4 G4"), voices=(Voice("1", tuple(row)),), length=12)
    done = [event for _, event in events(scaled(score).parts[0])]
    assert {event.value for event in done} == {NoteValue("quarter", 0, 3, 2, "quarter")}
    assert "<tuplet-type>quarter</tuplet-type>" in done[0].marks[0].xml


def test_odd_ticks_are_halved() -> None:
    """Halving needs no even number of ticks."""
    done = scaled(line("E4 F4 G4 A4", ticks=1), "scale-values:factor=1/2")
    assert Fraction(done.parts[0].measures[0].length, done.ticks) == 2


def test_without_a_metre_one_is_written() -> None:
    """Music without a time signature is read in common time, so the doubled one says 4/2."""
    done = scaled(with_first(line("E4:w"), attributes=()))
    assert done.parts[0].measures[0].attributes[0].metre == Metre(("4",), (2,))


def test_refusals() -> None:
    """A value or a metre without a name is refused with its measure."""
    long = with_first(line("E4:w"), attributes=(Attributes(0, metre=Metre(("4",), (1,))),))
    with pytest.raises(Refusal, match="measure 1, beat 1: 4/1 cannot be doubled"):
        run(long, [ScaleValues()])
    short = with_first(line("E4:w"), attributes=(Attributes(0, metre=Metre(("4",), (64,))),))
    with pytest.raises(Refusal, match="4/64 cannot be halved"):
        run(short, [ScaleValues(factor="1/2")])
