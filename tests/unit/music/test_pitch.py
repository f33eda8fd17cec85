"""Spelled pitch and interval."""

from __future__ import annotations

from fractions import Fraction

import pytest

from variants.errors import UsageError
from variants.music import PERFECT_OCTAVE, UNISON, Interval, Pitch, accidental_text, pitch


@pytest.mark.parametrize(
    ("text", "midi", "name"),
    [
        ("C4", 60, "C4"),
        ("A4", 69, "A4"),
        ("E2", 40, "E2"),
        ("f#3", 54, "F#3"),
        ("Bb2", 46, "Bb2"),
        ("B#3", 60, "B#3"),
        ("Cb4", 59, "Cb4"),
        ("F##4", 67, "F##4"),
        ("Fx4", 67, "F##4"),
        ("Ebb4", 62, "Ebb4"),
        ("C-1", 0, "C-1"),
        (" G♭5 ", 78, "Gb5"),
    ],
)
def test_parse(text: str, midi: int, name: str) -> None:
    """Letter, signs and octave; MIDI 60 is C4 (common practice), octaves change at C."""
    parsed = Pitch.parse(text)
    assert parsed.midi == midi
    assert str(parsed) == name
    assert Pitch.parse(name) == parsed


@pytest.mark.parametrize("text", ["", "C", "4", "H4", "C4x", "C 4", "Cis4"])
def test_parse_refuses(text: str) -> None:
    """What is no note with an octave is refused with an example."""
    with pytest.raises(UsageError, match="is no note; write letter, sign and octave"):
        Pitch.parse(text)


def test_unknown_letter() -> None:
    """German H is not a letter here."""
    with pytest.raises(UsageError, match="'H' is no note letter; use A to G"):
        Pitch("H", 0, 4)


def test_heights() -> None:
    """Semitones, pitch class, staff steps and place on the line of fifths."""
    note = Pitch("B", 1, 3)
    assert (note.semitones, note.pitch_class, note.steps, note.fifths) == (60, 0, 27, 12)
    assert (Pitch("C", -1, 4).pitch_class, Pitch("C", 0, 4).steps) == (11, 28)


def test_microtones() -> None:
    """A quarter tone rounds down for MIDI and stays exact in semitones."""
    sharp = Pitch("C", Fraction(1, 2), 4)
    flat = Pitch("C", Fraction(-1, 2), 4)
    assert (sharp.midi, sharp.semitones, sharp.is_microtone) == (60, Fraction(121, 2), True)
    assert (flat.midi, flat.pitch_class) == (59, Fraction(23, 2))
    assert str(sharp) == "C(+1/2)4"
    assert accidental_text(Fraction(-1, 2)) == "(-1/2)"


def test_pitches_are_shared() -> None:
    """Equal pitches from the factory are one object, however they are made."""
    assert pitch("F", 1, 4) is pitch("F", 1, 4)
    assert Pitch.parse("E4") + Interval.parse("M2") is pitch("F", 1, 4)
    assert pitch("F", 1, 4).moved_octaves(-2) is pitch("F", 1, 2)


@pytest.mark.parametrize(
    ("text", "steps", "semitones"),
    [
        ("P1", 0, 0),
        ("m2", 1, 1),
        ("A1", 0, 1),
        ("d2", 1, 0),
        ("m3", 2, 3),
        ("-P4", -3, -5),
        ("+A4", 3, 6),
        ("d5", 4, 6),
        ("AA4", 3, 7),
        ("dd7", 6, 8),
        ("P8", 7, 12),
        ("M10", 9, 16),
        ("-m9", -8, -13),
        ("P15", 14, 24),
    ],
)
def test_interval_parse(text: str, steps: int, semitones: int) -> None:
    """Quality, number and direction; the same text comes back."""
    interval = Interval.parse(text)
    assert interval == Interval(steps, semitones)
    assert str(interval) == text.removeprefix("+")


@pytest.mark.parametrize("text", ["", "3", "P3", "M5", "m4", "m0", "P", "third", "AAA4", "--m3"])
def test_interval_parse_refuses(text: str) -> None:
    """There is no perfect third and no major fifth."""
    with pytest.raises(UsageError, match="is no interval; write quality and number"):
        Interval.parse(text)


@pytest.mark.parametrize(
    ("text", "simple", "complement"),
    [
        ("P5", "P5", "P4"),
        ("P4", "P4", "P5"),
        ("m3", "m3", "M6"),
        ("M10", "M3", "m6"),
        ("-m3", "m3", "M6"),
        ("P8", "P8", "P1"),
        ("P15", "P8", "P1"),
        ("A4", "A4", "d5"),
        ("M2", "M2", "m7"),
        ("-M9", "M2", "m7"),
    ],
)
def test_simple_and_complement(text: str, simple: str, complement: str) -> None:
    """Within the octave, upward; numbers of an interval and its complement add up to nine."""
    interval = Interval.parse(text)
    assert interval.simple.name == simple
    assert interval.complement.name == complement


def test_interval_arithmetic() -> None:
    """Intervals add up, and a negative one leads back."""
    third = Interval.parse("m3")
    assert str(third + Interval.parse("M3")) == "P5"
    assert third + -third == UNISON
    assert Interval.between(Pitch.parse("A4"), Pitch.parse("C4")) == Interval.parse("-M6")
    assert PERFECT_OCTAVE.fifths == 0
    assert (third.fifths, Interval.parse("P5").fifths, Interval.parse("-P5").fifths) == (-3, 1, -1)


def test_names_of_rare_intervals() -> None:
    """More than doubly altered intervals still have a name."""
    assert Interval(3, 8).name == "AAA4"
    assert Interval(2, 1).name == "dd3"
    assert Interval(0, -1).name == "A1"
    assert str(Interval(0, -1)) == "-A1"
