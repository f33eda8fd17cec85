"""Transposition on small scores."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import INSTRUMENTS, STANDARD, line, tokens
from variants.errors import Refusal
from variants.music import Interval, Key, Pitch
from variants.pipeline import run
from variants.score import (
    Harmony,
    KeySign,
    Note,
    Place,
    Score,
    key_at_start,
    map_notes,
    with_parts,
)
from variants.steps import parse_step
from variants.steps.transpose import Transpose

RIFF = line("E2+B2:e G2+D3:e. A2+E3:s r:e E2+B2:q.")


def keyed(score: Score, key: Key | None) -> Score:
    """Return the score in another key signature, its notes unchanged."""
    part = score.parts[0]
    signs = (KeySign(key),) if key else ()
    first = part.measures[0]
    measure = replace(first, attributes=(replace(first.attributes[0], keys=signs),))
    return with_parts(score, [replace(part, measures=(measure, *part.measures[1:]))])


def moved(text: str, score: Score) -> Score:
    """Return the score after a step, its contract proven."""
    return run(score, [parse_step(text)]).score


def log(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("transpose:interval=m3", "G2+D3 Bb2+F3 C3+G3 r G2+D3"),
        ("transpose:interval=P4", "A2+E3 C3+G3 D3+A3 r A2+E3"),
        ("transpose:interval=A4", "A#2+E#3 C#3+G#3 D#3+A#3 r A#2+E#3"),
        ("transpose:interval=d5", "Bb2+F3 Db3+Ab3 Eb3+Bb3 r Bb2+F3"),
        ("transpose:interval=-m2,octave=fit", "D#3+A#3 F#3+C#4 G#3+D#4 r D#3+A#3"),
        ("transpose:interval=-P8", "E1+B1 G1+D2 A1+E2 r E1+B1"),
        ("transpose:interval=P8", "E3+B3 G3+D4 A3+E4 r E3+B3"),
    ],
)
def test_notes_are_spelled_by_the_interval(text: str, result: str) -> None:
    """Each note moves by letters and semitones; fit adds an octave where the riff is too low."""
    assert tokens(moved(text, keyed(RIFF, None))) == result


def test_key_signature_moves_too() -> None:
    """E minor up a minor third is G minor, and the log says so in words."""
    result = moved("transpose:interval=m3", keyed(RIFF, Key(1, "minor")))
    assert key_at_start(result.parts[0]) == Key(-2, "minor")
    assert log(result) == "moved up a minor third, from E minor to G minor"


@pytest.mark.parametrize(
    ("key", "interval", "fifths", "note"),
    [
        (Key(4, "major"), "M3", -4, "Ab2"),  # E to G#, which is written Ab
        (Key(-4, "major"), "-m3", 1, "C2"),  # Ab to F: 4 flats and 3 more are 7, -1 is printable
        (Key(-5, "major"), "m3", 4, "G2"),  # Db to Fb, which is written E
        (Key(6, "major"), "M2", -4, "Gb2"),  # F# to G#, which is written Ab
    ],
)
def test_unprintable_signatures(key: Key, interval: str, fifths: int, note: str) -> None:
    """More than seven signs: the enharmonic interval is used for everything, and logged."""
    result = moved(f"transpose:interval={interval}", keyed(line("E2:w"), key))
    found = key_at_start(result.parts[0])
    assert found is not None
    if abs(key.moved(Interval.parse(interval)).fifths) <= 7:
        assert found == key.moved(Interval.parse(interval))
        return
    assert found.fifths == fifths
    assert "would need more than seven signs" in log(result)
    assert tokens(result).startswith(note[0]) or tokens(result).startswith("F##")


@pytest.mark.parametrize(
    ("semitones", "text"),
    [
        (1, "Db4 F4 Ab4"),  # five flats, not seven sharps
        (6, "F#4 A#4 C#5"),  # six signs either way: the augmented fourth, as in the scale
        (8, "Ab4 C5 Eb5"),
        (-1, "B3 D#4 F#4"),
        (-2, "Bb3 D4 F4"),
    ],
)
def test_semitones_take_the_simplest_signature(semitones: int, text: str) -> None:
    """C major moves to the key with the fewest signs."""
    score = keyed(line("C4 E4 G4"), Key(0, "major"))
    assert tokens(moved(f"transpose:semitones={semitones}", score)) == text


def test_semitones_without_a_signature() -> None:
    """Without a signature the spelling with the fewest accidentals is taken."""
    score = keyed(line("E4 G#4 B4"), None)
    assert tokens(moved("transpose:semitones=1", score)) == "F4 A4 C5"
    assert tokens(moved("transpose:semitones=4", score)) == "Ab4 C5 Eb5"


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("transpose:key=D major", "D4 F#4 A4"),
        ("transpose:key=A major", "A3 C#4 E4"),
        ("transpose:key=A major,direction=up", "A4 C#5 E5"),
        ("transpose:key=D major,direction=down", "D3 F#3 A3"),
        ("transpose:key=F#", "F#4 A#4 C#5"),
        ("transpose:key=C major", "C4 E4 G4"),
        ("transpose:key=C major,direction=up", "C4 E4 G4"),
    ],
)
def test_to_a_key(text: str, result: str) -> None:
    """The nearest way unless told otherwise; the same key moves nothing."""
    assert tokens(moved(text, keyed(line("C4 E4 G4"), Key(0, "major")))) == result


def test_key_fits_the_instrument() -> None:
    """Nearest to D from E is a tone down, below the open sixth string: an octave is added."""
    result = moved("transpose:key=D minor", keyed(RIFF, Key(1, "minor")))
    assert tokens(result).startswith("D3+A3")
    assert "1 octave higher, so that the instrument can play it" in log(result)
    kept = moved("transpose:key=D minor,octave=keep", keyed(RIFF, Key(1, "minor")))
    assert tokens(kept).startswith("D2+A2")
    assert "2 notes out of the instrument's range (MIDI 40 to 86)" in log(kept)


def test_refusals() -> None:
    """Without a key signature, and for another mode, a way out is named."""
    with pytest.raises(Refusal, match="no key signature to start from; say how far"):
        moved("transpose:key=D minor", keyed(RIFF, None))
    with pytest.raises(
        Refusal, match=r"in C major and moving it cannot make it minor; ask .* such as G major"
    ):
        moved("transpose:key=E minor", keyed(RIFF, Key(0, "major")))


def test_unknown_mode_takes_the_signature() -> None:
    """A signature without a mode may be either: one sharp is E minor as well."""
    result = moved("transpose:key=E minor", keyed(line("A3 C4 E4"), Key(0)))
    assert tokens(result) == "E3 G3 B3"


def test_places_fingers_and_frames_go() -> None:
    """What belonged to the old pitch is erased; the chord symbol moves with the notes."""
    score = line("E4:w")
    placed = map_notes(
        score.parts[0], lambda note: replace(note, place=Place(1, 0), finger="0", pluck="m")
    )
    harmony = Harmony(0, ("F", 1), "minor", bass=("C", 1), frame="<frame/>")
    measure = replace(placed.measures[0], harmonies=(harmony,))
    score = with_parts(score, [replace(placed, measures=(measure,))])
    result = moved("transpose:interval=m3", score).parts[0].measures[0]
    assert result.voices[0].events[0].notes == (Note(Pitch("G", 0, 4), pluck="m"),)
    assert result.harmonies == (Harmony(0, ("A", 0), "minor", bass=("E", 0)),)
    assert "1 chord diagram dropped: the chords have moved" in log(
        moved("transpose:interval=m3", score)
    )


def test_unreadable_symbols_are_logged() -> None:
    """A chord symbol that the model does not read stays, and the log says so."""
    score = line("E4:w")
    harmony = Harmony(0, None, xml="<root><root-step>E</root-step></root>")
    measure = replace(score.parts[0].measures[0], harmonies=(harmony,))
    score = with_parts(score, [replace(score.parts[0], measures=(measure,))])
    assert "1 chord symbol could not be read" in log(moved("transpose:interval=m3", score))


def test_no_more_than_double_signs() -> None:
    """F triple sharp is written G sharp, and the log says so."""
    score = keyed(line("F##4 C4"), None)
    result = moved("transpose:interval=A1", score)
    assert tokens(result) == "G#4 C#4"
    assert "1 note would need more than a double sharp or flat" in log(result)


def test_microtones_keep_their_fraction() -> None:
    """A quarter tone sharp stays a quarter tone sharp."""
    score = keyed(line("C4:w"), None)
    sharp = Pitch("C", Fraction(1, 2), 4)
    part = map_notes(score.parts[0], lambda note: replace(note, pitch=sharp))
    result = moved("transpose:interval=P5", with_parts(score, [part]))
    (note,) = result.parts[0].measures[0].voices[0].events[0].notes
    assert note.pitch == Pitch("G", Fraction(1, 2), 4)


def test_unpitched_parts_stay() -> None:
    """Drums have no key."""
    drums = map_notes(RIFF.parts[0], lambda note: replace(note, pitch=None))
    score = with_parts(RIFF, [RIFF.parts[0], replace(drums, id="P2")])
    assert moved("transpose:interval=m3", score).parts[1] is score.parts[1]


def test_fit_looks_at_every_instrument() -> None:
    """All parts move together by the octave that suits them best."""
    low = replace(line("E1 G1").parts[0], id="P2", instrument=INSTRUMENTS[3])
    score = with_parts(RIFF, [replace(RIFF.parts[0], instrument=STANDARD), low])
    assert Transpose(interval=Interval.parse("m3"), octave="fit").interval_for(score) == (
        Interval.parse("m3")
    )


def test_nothing_to_move() -> None:
    """A unison leaves places alone and says so."""
    result = moved("transpose:interval=P1", RIFF)
    assert result == RIFF
    assert log(result) == "nothing to move"
