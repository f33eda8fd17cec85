"""Keys as they are written and read."""

from __future__ import annotations

import pytest

from variants.errors import UsageError
from variants.music import Interval, Key


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("C", Key(0, "major")),
        ("c major", Key(0, "major")),
        ("Em", Key(1, "minor")),
        ("em", Key(1, "minor")),
        ("E minor", Key(1, "minor")),
        ("E_min", Key(1, "minor")),
        ("F# minor", Key(3, "minor")),
        ("B♭ major", Key(-2, "major")),
        ("Bb", Key(-2, "major")),
        ("D dorian", Key(0, "dorian")),
        ("E phrygian", Key(0, "phrygian")),
        ("F lydian", Key(0, "lydian")),
        ("G mixolydian", Key(0, "mixolydian")),
        ("A aeolian", Key(0, "aeolian")),
        ("B locrian", Key(0, "locrian")),
    ],
)
def test_parse(text: str, key: Key) -> None:
    """Tonic, sign and mode in the usual spellings; church modes lie on the white keys."""
    assert Key.parse(text) == key


@pytest.mark.parametrize("text", ["", "H", "E happy", "E#b", "minor", "12"])
def test_parse_refuses(text: str) -> None:
    """What is no key is refused with an example."""
    with pytest.raises(UsageError, match="is no key; write tonic and mode"):
        Key.parse(text)


def test_words() -> None:
    """A signature without a mode is named as major, and its mode is not known."""
    assert str(Key(2)) == "D major"
    assert not Key(2).is_known_mode
    assert not Key(2, "none").is_known_mode
    assert Key(2, "minor").is_known_mode
    assert str(Key(-3, "minor")) == "C minor"


def test_moved() -> None:
    """A key moves along the circle and keeps its mode."""
    assert Key(1, "minor").moved(Interval.parse("m3")) == Key(-2, "minor")
    assert Key(5).moved(Interval.parse("M3")).fifths == 9
