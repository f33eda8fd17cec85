"""Tunings against published tables and the MIDI note numbers."""

from __future__ import annotations

import pytest

from variants.guitar import instrument_for, parse_tuning
from variants.score.instrument import Place

# Standard E2 A2 D3 G3 B3 E4: hubbry.com/Open_tuning; the numbers by the MIDI 1.0 convention in
# which note 60 is middle C (C4). Letters of drop D, DADGAD and the open tunings:
# daviddarling.info (alternative guitar tunings) and wikisum.wiki (Guitar tuning); bass, ukulele
# and mandolin: h2g2.com A87856825; tenor CGDA and banjo gDGBD: pamelasmusic.co.uk. Octaves that
# those pages leave out, seven-string, baritone and five-string bass: common practice, from memory.
OPEN_MIDI = {
    "standard": (40, 45, 50, 55, 59, 64),
    "drop-d": (38, 45, 50, 55, 59, 64),
    "double-drop-d": (38, 45, 50, 55, 59, 62),
    "dadgad": (38, 45, 50, 55, 57, 62),
    "open-g": (38, 43, 50, 55, 59, 62),
    "open-d": (38, 45, 50, 54, 57, 62),
    "open-e": (40, 47, 52, 56, 59, 64),
    "half-step-down": (39, 44, 49, 54, 58, 63),
    "whole-step-down": (38, 43, 48, 53, 57, 62),
    "seven-string": (35, 40, 45, 50, 55, 59, 64),
    "baritone": (35, 40, 45, 50, 54, 59),
    "bass-4": (28, 33, 38, 43),
    "bass-5": (23, 28, 33, 38, 43),
    "ukulele": (67, 60, 64, 69),
    "tenor": (48, 55, 62, 69),
    "mandolin": (55, 62, 69, 76),
    "banjo-5": (67, 50, 55, 59, 62),
}


@pytest.mark.parametrize("name", OPEN_MIDI)
def test_midi_numbers(name: str) -> None:
    """Every open string has its published MIDI number, in the trade's order."""
    assert tuple(pitch.midi for pitch in parse_tuning(name).strings) == OPEN_MIDI[name]


@pytest.mark.parametrize("name", OPEN_MIDI)
def test_music21_agrees(name: str) -> None:
    """music21's pitches, a second opinion, give the same numbers for the same names."""
    from music21.pitch import Pitch as OtherPitch

    for pitch in parse_tuning(name).strings:
        # music21 writes a flat as "-".
        assert OtherPitch(str(pitch).replace("b", "-")).midi == pitch.midi


@pytest.mark.parametrize(
    ("name", "letters"),
    [
        ("open-g", "GBD"),
        ("open-d", "DF#A"),
        ("open-e", "EG#B"),
        ("banjo-5", "GBD"),
    ],
)
def test_open_tunings_are_chords(name: str, letters: str) -> None:
    """Common practice: an open tuning is named after the major chord of its open strings."""
    names = {pitch.name for pitch in parse_tuning(name).strings}
    assert "".join(sorted(names, key=letters.index)) == letters


@pytest.mark.parametrize(("fret", "midi"), [(12, 76), (19, 83), (22, 86), (24, 88)])
def test_top_notes(fret: int, midi: int) -> None:
    """Equal temperament: frets 12, 19, 22, 24 of string 1 are E5, B5, D6, E6 (MIDI numbers)."""
    assert instrument_for(parse_tuning("standard"), frets=fret).highest == midi


@pytest.mark.parametrize("fret_up", range(1, 8))
def test_half_and_whole_step_down(fret_up: int) -> None:
    """Common practice: tuned down by n, a capo at fret n brings standard tuning back."""
    for name, capo in (("half-step-down", 1), ("whole-step-down", 2)):
        lowered = instrument_for(parse_tuning(name), capo=capo)
        standard = instrument_for(parse_tuning("standard"))
        for string in range(1, 7):
            place = Place(string, fret_up)
            assert lowered.sounding(place) == standard.sounding(place)


@pytest.mark.parametrize(
    ("string", "fret"),
    # Common practice, "the fifth-fret method" of tuning by ear: each string at its fifth fret
    # sounds the next open string, except the third, which does so at its fourth.
    [(6, 5), (5, 5), (4, 5), (3, 4), (2, 5)],
)
def test_tuning_by_the_fifth_fret(string: int, fret: int) -> None:
    """The stopped string sounds the next one open."""
    guitar = instrument_for(parse_tuning("standard"))
    assert guitar.sounding(Place(string, fret)) == guitar.sounding(Place(string - 1, 0))


def test_places_of_the_high_e() -> None:
    """Common practice: E4 within 12 frets stands at 1:0, 2:5 and 3:9 of a guitar."""
    guitar = instrument_for(parse_tuning("standard"), frets=12)
    assert guitar.places(64) == (Place(1, 0), Place(2, 5), Place(3, 9))


def test_naturals_on_string_one() -> None:
    """Common practice: the naturals on string 1 are at frets 0 1 3 5 7 8 10 12."""
    guitar = instrument_for(parse_tuning("standard"))
    naturals = {0, 2, 4, 5, 7, 9, 11}
    frets = [fret for fret in range(13) if (guitar.sounding(Place(1, fret)) or 0) % 12 in naturals]
    assert frets == [0, 1, 3, 5, 7, 8, 10, 12]
