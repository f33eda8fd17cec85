"""From a tuning to an instrument; tuning + capo + fret = pitch."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from variants.errors import NeckwiseError, UsageError
from variants.guitar import TUNINGS, check_place, instrument_for, neck_fret, parse_tuning
from variants.guitar.tuning import Tuning
from variants.score.instrument import Place


@given(st.sampled_from(TUNINGS), st.integers(0, 7), st.data())
def test_every_place_sounds_its_sum(tuning: Tuning, capo: int, data: st.DataObject) -> None:
    """Each place of each pitch sounds it, passes the check, and lies between nut and last fret."""
    instrument = instrument_for(tuning, capo=capo)
    midi = data.draw(st.integers(instrument.lowest, instrument.highest))
    for place in instrument.places(midi):
        assert tuning.open_midi[place.string - 1] + capo + place.fret == midi
        check_place(instrument, place, midi=midi)
        assert capo <= neck_fret(instrument, place)


def test_build_of_the_kind() -> None:
    """Frets and scale length come from the kind unless they are given."""
    bass = instrument_for(parse_tuning("bass-4"))
    assert (bass.frets, round(bass.scale_length_mm)) == (20, 864)
    short = instrument_for(parse_tuning("standard"), frets=12, scale_length_mm=522.0)
    assert (short.frets, short.scale_length_mm, short.highest) == (12, 522.0, 76)


@pytest.mark.parametrize(
    ("name", "kwargs", "message"),
    [
        ("standard", {"capo": -1}, "no capo fits at fret -1"),
        ("standard", {"capo": 22}, "no capo fits at fret 22 .* give 0 to 21"),
        ("banjo-5", {"capo": 17}, "no capo fits at fret 17 .* give 0 to 16"),
        ("standard", {"frets": 0}, "a neck of 0 frets"),
        ("standard", {"frets": 37}, "a neck of 37 frets; give 1 to 36"),
        ("banjo-5", {"frets": 5}, "give more frets"),
        ("standard", {"scale_length_mm": 25.5}, "a scale length of 25.5 mm; give 250 to 1000 mm"),
    ],
)
def test_impossible_instruments(name: str, kwargs: dict[str, int], message: str) -> None:
    """Numbers that make no instrument are refused with the range that does."""
    with pytest.raises(UsageError, match=message):
        instrument_for(parse_tuning(name), **kwargs)


def test_capo_and_short_string() -> None:
    """Tab counts from the capo; a short string counts from where it starts."""
    guitar = instrument_for(parse_tuning("standard"), capo=3)
    assert neck_fret(guitar, Place(6, 0)) == 3
    assert neck_fret(guitar, Place(1, 4)) == 7
    banjo = instrument_for(parse_tuning("banjo-5"), capo=2)
    assert neck_fret(banjo, Place(5, 0)) == 7
    assert neck_fret(banjo, Place(1, 0)) == 2


@pytest.mark.parametrize(
    ("place", "midi", "message"),
    [
        (Place(6, 3), 44, "measure 3: string 6 fret 3 sounds MIDI 43, not 44; correct the fret"),
        (Place(7, 0), 44, "measure 3: the instrument has no string 7 fret 0"),
        (Place(0, 0), 44, "no string 0 fret 0"),
        (Place(1, 23), 87, "no string 1 fret 23"),
        (Place(1, -1), 63, "no string 1 fret -1"),
    ],
)
def test_places_that_disagree(place: Place, midi: int, message: str) -> None:
    """A place that is not there, or that sounds another note, is refused in one line."""
    with pytest.raises(NeckwiseError, match=message):
        check_place(instrument_for(parse_tuning("standard")), place, midi=midi, where="measure 3")
