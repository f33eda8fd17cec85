"""Transposition against music21, version 10: pitch, interval and key as a second opinion.

Source: the open-source library music21 (its ``Pitch.transpose``, ``Interval`` and
``KeySignature`` classes), written independently of ours.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache
from typing import Any

import pytest

from tests.strategies import line
from variants.music import Interval, Key, Pitch
from variants.score import Event, KeySign, Score, map_events, notes, with_notes, with_parts
from variants.steps.transpose import Transpose

# Every named interval from a fifth down to a fifth up.
NAMES = [
    sign + name
    for sign in ("", "-")
    for name in (
        *("P1", "A1", "d2", "m2", "M2", "A2", "d3", "m3", "M3", "A3"),
        *("d4", "P4", "A4", "d5", "P5"),
    )
    # A unison has no direction, and a diminished second goes the other way.
    if not (sign and name == "P1")
]
LETTERS = "CDEFGAB"
SPELLED = [
    Pitch(letter, alter, octave)
    for octave in range(1, 8)
    for letter in LETTERS
    for alter in (-2, -1, 0, 1, 2)
]
_SIGNS = {0: "", 1: "#", 2: "##", -1: "-", -2: "--"}


@cache
def music21_pitch(pitch: Pitch) -> Any:  # noqa: ANN401 -- music21 is not typed here
    """Return the same pitch in music21."""
    from music21.pitch import Pitch as Other

    return Other(f"{pitch.letter}{_SIGNS[int(pitch.alter)]}{pitch.octave}")


def same(ours: Pitch, other: Any) -> bool:  # noqa: ANN401 -- as above
    """Whether both say the same letter, sign and octave."""
    return (ours.letter, float(ours.alter), ours.octave) == (
        other.step,
        float(other.alter),
        other.octave,
    )


@pytest.mark.parametrize("name", NAMES)
def test_pitch_plus_interval(name: str) -> None:
    """music21 ``Interval.transposePitch``: letter, sign and octave of every spelled pitch.

    Intervals that lead past quadruple signs are left to the test of respelling.
    """
    from music21.interval import Interval as Other

    interval, other = Interval.parse(name), Other(name)
    checked = 0
    for pitch in SPELLED:
        ours = pitch + interval
        if not -2 <= ours.alter <= 2:
            continue
        assert same(ours, other.transposePitch(music21_pitch(pitch), maxAccidental=None)), pitch
        checked += 1
    assert checked > 100


@pytest.mark.parametrize("name", NAMES)
def test_transpose_a_score(name: str) -> None:
    """music21 ``Pitch.transpose``: the step itself, on a chord of every spelled pitch."""
    from music21.interval import Interval as Other

    score = line("C4:w", instrument=None)
    (note,) = notes(score.parts[0])
    interval = Interval.parse(name)
    found = [pitch for pitch in SPELLED if -2 <= (pitch + interval).alter <= 2]

    def full(event: Event) -> Event:
        return with_notes(event, tuple(replace(note, pitch=pitch) for pitch in found))

    chord = with_parts(score, [map_events(score.parts[0], full)])
    plain = without_keys(chord)
    moved = [n.pitch for n in notes(Transpose(interval=interval)(plain).parts[0])]
    other = Other(name)
    for before, after in zip(found, moved, strict=True):
        assert after is not None
        assert same(after, other.transposePitch(music21_pitch(before), maxAccidental=None))


def without_keys(score: Score) -> Score:
    """Return the score without key signatures, which could ask for the enharmonic interval."""
    parts = [
        replace(
            part,
            measures=tuple(
                replace(one, attributes=tuple(replace(a, keys=()) for a in one.attributes))
                for one in part.measures
            ),
        )
        for part in score.parts
    ]
    return with_parts(score, parts)


@pytest.mark.parametrize("name", NAMES)
def test_semitones_and_name(name: str) -> None:
    """music21 ``Interval``: semitones, generic size, simple name and complement."""
    from music21.interval import Interval as Other

    interval, other = Interval.parse(name), Other(name)
    assert interval.semitones == other.semitones
    assert str(interval).lstrip("-") == other.name
    if name.lstrip("-") not in {"P1", "A1", "d2"}:
        # Our simple intervals point upward, as dyads do.
        assert interval.simple.name == other.simpleName
        assert interval.complement.name == other.complement.name


@pytest.mark.parametrize("semitones", range(-12, 13))
def test_usual_names_have_their_size(semitones: int) -> None:
    """music21 ``Interval(semitones)``: the same size, and the same name but for the tritone.

    music21 calls the tritone d5; ours is the augmented fourth of the major scale (F to B).
    """
    from music21.interval import Interval as Other

    ours = Interval.of_semitones(semitones)
    assert ours.semitones == Other(semitones).semitones
    if abs(semitones) != 6:
        assert ours.name == Other(semitones).name


@pytest.mark.parametrize("fifths", range(-7, 8))
@pytest.mark.parametrize("mode", ["major", "minor", "dorian", "phrygian", "lydian", "mixolydian"])
def test_tonic_of_each_signature(fifths: int, mode: str) -> None:
    """music21 ``KeySignature.asKey``: the tonic of each signature in each mode."""
    from music21.key import KeySignature

    tonic = KeySignature(fifths).asKey(mode).tonic.name.replace("-", "b")
    assert Key(fifths, mode).tonic == tonic


@pytest.mark.parametrize("fifths", range(-7, 8))
def test_altered_letters_of_each_signature(fifths: int) -> None:
    """music21 ``KeySignature.accidentalByStep``: what each signature does to each letter."""
    from music21.key import KeySignature

    other = KeySignature(fifths)
    for letter in LETTERS:
        sign = other.accidentalByStep(letter)
        assert Key(fifths).altered(letter) == (int(sign.alter) if sign else 0)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("fifths", range(-7, 8))
def test_key_signature_moves(fifths: int, name: str) -> None:
    """music21 ``KeySignature.transpose``: the signature of the moved score, up to enharmonics."""
    from music21.key import KeySignature

    score = line("C4:w", instrument=None)
    part = score.parts[0]
    first = part.measures[0]
    signed = replace(first.attributes[0], keys=(KeySign(Key(fifths)),))
    measure = replace(first, attributes=(signed,))
    score = with_parts(score, [replace(part, measures=(measure,))])
    moved = Transpose(interval=Interval.parse(name))(score)
    key = moved.parts[0].measures[0].attributes[0].keys[0].key
    assert key is not None
    other = KeySignature(fifths).transpose(name).sharps
    assert abs(key.fifths) <= 7
    assert key.fifths == other or (key.fifths - other) % 12 == 0
    if abs(other) <= 7:
        assert key.fifths == other


def test_microtones_keep_their_fraction() -> None:
    """music21 half-sharp: a quarter tone above C moves to a quarter tone above E flat."""
    from music21.pitch import Pitch as Other

    ours = Pitch("C", Fraction(1, 2), 4) + Interval.parse("m3")
    other = Other("C~4").transpose("m3")
    assert float(ours.semitones) == other.ps
