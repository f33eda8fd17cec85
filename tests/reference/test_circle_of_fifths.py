"""Key signatures against the circle of fifths.

Source: the published table of major keys by signature (deekor.com L37), as common as any fact
of music theory: sharps 1-7 are G D A E B F# C#, flats 1-7 are F Bb Eb Ab Db Gb Cb. Relative
minors and the order of sharps and flats are common practice.
"""

from __future__ import annotations

import pytest

from tests.strategies import line
from variants.errors import UsageError
from variants.music import Interval, Key, Pitch, printable
from variants.music.pitch import fifths_of, name_at_fifths
from variants.score import key_at_start
from variants.steps.transpose import Transpose

SHARPS = dict(enumerate(["G", "D", "A", "E", "B", "F#", "C#"], 1))
FLATS = {-number: name for number, name in enumerate(["F", "Bb", "Eb", "Ab", "Db", "Gb", "Cb"], 1)}
MAJOR = {0: "C", **SHARPS, **FLATS}
# Relative minor keys, common practice.
_FLAT_MINORS = ("Ab", "Eb", "Bb", "F", "C", "G", "D")
_SHARP_MINORS = ("E", "B", "F#", "C#", "G#", "D#", "A#")
MINOR = dict(zip(range(-7, 8), (*_FLAT_MINORS, "A", *_SHARP_MINORS), strict=True))


@pytest.mark.parametrize(("fifths", "tonic"), MAJOR.items())
def test_major_keys(fifths: int, tonic: str) -> None:
    """Each tonic of the table has its number of signs, and back."""
    assert Key.parse(tonic).fifths == fifths
    assert Key.parse(f"{tonic} major") == Key(fifths, "major")
    assert Key(fifths, "major").tonic == tonic


@pytest.mark.parametrize(("fifths", "tonic"), MINOR.items())
def test_minor_keys(fifths: int, tonic: str) -> None:
    """Each relative minor shares its signature (common practice)."""
    assert Key.parse(f"{tonic} minor") == Key(fifths, "minor")
    assert Key.parse(f"{tonic}m") == Key(fifths, "minor")
    # The relative minor lies a minor third below.
    below = Pitch.parse(f"{MAJOR[fifths]}4") + Interval.parse("-m3")
    assert below.name == tonic


def test_order_of_signs() -> None:
    """Sharps come as F C G D A E B, flats the other way round (common practice)."""
    for number in range(1, 8):
        sharp = [letter for letter in "FCGDAEB" if Key(number).altered(letter) == 1]
        flat = [letter for letter in "BEADGCF" if Key(-number).altered(letter) == -1]
        assert "".join(sharp) == "FCGDAEB"[:number]
        assert "".join(flat) == "BEADGCF"[:number]


@pytest.mark.parametrize("fifths", range(-7, 7))
def test_a_fifth_up_is_one_sign_more(fifths: int) -> None:
    """The circle: a fifth up adds a sharp or takes a flat away."""
    assert Key(fifths).moved(Interval.parse("P5")).fifths == fifths + 1
    assert Key(fifths).moved(Interval.parse("-P4")).fifths == fifths + 1


@pytest.mark.parametrize("start", [name for number, name in MAJOR.items() if abs(number) < 7])
@pytest.mark.parametrize("name", ["F#", "Bb", "E", "Ab", "C"])
def test_transpose_to_a_key(start: str, name: str) -> None:
    """The step arrives at the signature of the table from any other."""
    score = Transpose(key=Key.parse(start), octave="keep")(line("C4 E4 G4 C5"))
    moved = Transpose(key=Key.parse(name), octave="keep")(score)
    key = key_at_start(moved.parts[0])
    assert key is not None
    assert (key.tonic, key.fifths) == (name, Key.parse(name).fifths)


@pytest.mark.parametrize(("fifths", "same"), [(8, -4), (9, -3), (12, 0), (-8, 4), (-11, 1)])
def test_enharmonic_signatures(fifths: int, same: int) -> None:
    """Twelve fifths are seven octaves: G# major is written as A flat major."""
    assert printable(fifths) == same


@pytest.mark.parametrize("text", ["G# major", "Fb", "D# major", "Gb minor"])
def test_keys_that_cannot_be_printed(text: str) -> None:
    """A signature of more than seven signs is refused, with its enharmonic name."""
    with pytest.raises(UsageError, match="name it"):
        Key.parse(text)


def test_line_of_fifths() -> None:
    """F C G D A E B and then the sharps of the same (common practice)."""
    rows = [[letter + sign for letter in "FCGDAEB"] for sign in ("b", "", "#")]
    names = [name for row in rows for name in row]
    for place, name in enumerate(names, -8):
        letter, alter = name[0], name.count("#") - name.count("b")
        assert fifths_of(letter, alter) == place
        assert name_at_fifths(place) == (letter, alter)
