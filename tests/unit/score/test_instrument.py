"""The instrument as plain data."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import INSTRUMENTS, STANDARD
from variants.score import Place


def test_open_strings() -> None:
    """String 1 is the highest of the standard guitar: MIDI 64 59 55 50 45 40 (common practice)."""
    assert STANDARD.open_midi == (64, 59, 55, 50, 45, 40)
    assert (STANDARD.lowest, STANDARD.highest) == (40, 86)


def test_places_of_e4() -> None:
    """Within 12 frets E4 is 1:0 2:5 3:9 (computed, trade 8), and further up on lower strings."""
    places = [str(place) for place in STANDARD.places(64)]
    assert places == [
        "string 1 fret 0",
        "string 2 fret 5",
        "string 3 fret 9",
        "string 4 fret 14",
        "string 5 fret 19",
    ]


def test_capo_shortens_the_neck() -> None:
    """Frets count from the capo, and the last one is nearer."""
    capoed = replace(STANDARD, capo=3)
    assert capoed.sounding(Place(6, 0)) == 43
    assert capoed.sounding(Place(6, 19)) == 62
    assert capoed.sounding(Place(6, 20)) is None
    assert capoed.top_fret == 19


@pytest.mark.parametrize("place", [Place(0, 0), Place(7, 0), Place(1, -1), Place(1, 23)])
def test_no_such_place(place: Place) -> None:
    """What is not on the neck sounds nothing."""
    assert STANDARD.sounding(place) is None


def test_short_fifth_string() -> None:
    """A banjo's fifth string begins at fret 5, so it has fewer frets."""
    banjo = INSTRUMENTS[5]
    assert banjo.open_midi[4] == 67
    assert banjo.sounding(Place(5, 17)) == 84
    assert banjo.sounding(Place(5, 18)) is None


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.tuning)
def test_places_and_sounds_agree(instrument: object) -> None:
    """Every place of every note sounds that note."""
    for midi in range(20, 100):
        for place in instrument.places(midi):  # type: ignore[attr-defined]
            assert instrument.sounding(place) == midi  # type: ignore[attr-defined]
