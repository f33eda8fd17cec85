"""The key as music21 hears it."""

from __future__ import annotations

from tests.strategies import line
from variants.survey import heard_key


def test_melody() -> None:
    """A melody on its tonic chord is heard in its key."""
    score = line("D3:h F#3 A3", "G3 F#3 E3 C#3", "D3:h D3:h")
    heard = heard_key(score, score.parts[0])
    assert heard is not None
    assert heard.name == "D major"
    assert heard.correlation >= heard.second_correlation


def test_flats_are_written_as_b() -> None:
    """music21 writes flats with a minus sign; we do not."""
    score = line("Bb2:h D3 F3", "Eb3 D3 C3 A2", "Bb2:h Bb2:h")
    heard = heard_key(score, score.parts[0])
    assert heard is not None
    assert heard.name == "Bb major"


def test_silence() -> None:
    """Nothing is heard in rests."""
    score = line("r:w")
    assert heard_key(score, score.parts[0]) is None
