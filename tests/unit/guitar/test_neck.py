"""The neck in millimetres and the interval-to-fret function."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from variants.errors import UsageError
from variants.guitar import (
    BUILDS,
    STANDARD,
    TUNINGS,
    Neck,
    StringSpacing,
    fret_difference,
    fret_mm,
    interval_table,
    marked_frets,
    neck_of,
    span_mm,
)
from variants.guitar.instrument import instrument_for

LENGTHS_MM = st.floats(250, 1000)
FRETS = st.integers(0, 36)


@given(FRETS, LENGTHS_MM)
def test_octave_halves_the_rest(fret: int, length_mm: float) -> None:
    """Twelve frets up, half of the sounding string is left: the octave."""
    rest_mm = length_mm - fret_mm(fret, scale_length_mm=length_mm)
    upper_rest_mm = length_mm - fret_mm(fret + 12, scale_length_mm=length_mm)
    assert upper_rest_mm == pytest.approx(rest_mm / 2)


@given(FRETS, FRETS, LENGTHS_MM)
def test_span_has_no_direction(low: int, high: int, length_mm: float) -> None:
    """A span is the same from either end, and narrower one fret further up."""
    here_mm = span_mm(low, high, scale_length_mm=length_mm)
    assert here_mm == pytest.approx(span_mm(high, low, scale_length_mm=length_mm))
    if low != high:
        assert span_mm(low + 1, high + 1, scale_length_mm=length_mm) < here_mm


def test_points_are_symmetric() -> None:
    """The outer strings run at the same distance on both sides of the middle, string 1 above."""
    neck = Neck(strings=6, frets=20, spacing=StringSpacing(40.0, 60.0))
    assert neck.point_mm(1, 0) == (0.0, 20.0)
    assert neck.point_mm(6, 0) == (0.0, -20.0)
    x_mm, y_mm = neck.point_mm(1, 12)
    assert (x_mm, y_mm) == pytest.approx((325.0, 25.0))
    assert neck.reach_mm((3, 5), (3, 5)) == 0.0


def test_one_string_has_no_gap() -> None:
    """A neck with one string has its string in the middle."""
    assert Neck(strings=1, frets=12).point_mm(1, 3)[1] == 0.0


@pytest.mark.parametrize("string", [0, 7, -1])
def test_point_needs_a_string(string: int) -> None:
    """A string that is not there is refused with those that are."""
    with pytest.raises(UsageError, match=f"no string {string}; strings go from 1 to 6"):
        Neck(strings=6, frets=22).point_mm(string, 1)


@pytest.mark.parametrize(
    ("strings", "frets", "scale_mm"), [(0, 22, 650.0), (6, 0, 650.0), (6, 22, 0.0), (6, 22, -1.0)]
)
def test_neck_must_exist(strings: int, frets: int, scale_mm: float) -> None:
    """Numbers that make no neck are refused."""
    with pytest.raises(UsageError, match="a neck"):
        Neck(strings=strings, frets=frets, scale_length_mm=scale_mm)


def test_marked_frets_end_with_the_neck() -> None:
    """A short neck has only the marks that lie on it."""
    assert marked_frets(15) == (3, 5, 7, 9, 12, 15)
    assert marked_frets(2) == ()


@pytest.mark.parametrize("tuning", TUNINGS, ids=str)
def test_every_kind_has_a_neck(tuning: object) -> None:
    """Each named tuning has a build, and its neck is narrower at the nut than at the bridge."""
    known = next(one for one in TUNINGS if one is tuning)
    neck = neck_of(instrument_for(known))
    assert neck.strings == len(known.strings)
    assert neck.frets == BUILDS[known.kind].frets
    assert neck.string_gap_mm(0) < neck.string_gap_mm(12)


@given(
    st.sampled_from(TUNINGS), st.data(), st.integers(0, 30), st.integers(0, 20), st.integers(0, 7)
)
def test_difference_makes_the_interval(
    tuning: object, data: st.DataObject, semitones: int, fret: int, capo: int
) -> None:
    """Stopping both strings by the difference sounds the interval, whatever the tuning."""
    known = next(one for one in TUNINGS if one is tuning)
    strings = range(1, len(known.strings) + 1)
    low = data.draw(st.sampled_from(strings))
    high = data.draw(st.sampled_from([one for one in strings if one != low]))
    midi = [number + capo for number in known.open_midi]
    apart = fret_difference(midi, low_string=low, high_string=high, semitones=semitones)
    assert midi[high - 1] + fret + apart - (midi[low - 1] + fret) == semitones


@pytest.mark.parametrize(
    ("low", "high", "message"),
    [(0, 1, "no string 0"), (6, 7, "no string 7"), (3, 3, "two notes cannot sound on string 3")],
)
def test_difference_refuses(low: int, high: int, message: str) -> None:
    """Strings that are not there, or one string for two notes, are refused."""
    with pytest.raises(UsageError, match=message):
        fret_difference(STANDARD.open_midi, low_string=low, high_string=high, semitones=7)


def test_table_has_every_pair() -> None:
    """Pairs go from the lowest-sounding strings to the highest, at the distance asked for."""
    assert list(interval_table(STANDARD.open_midi, intervals=["P5"])) == [
        (6, 5),
        (5, 4),
        (4, 3),
        (3, 2),
        (2, 1),
    ]
    assert list(interval_table(STANDARD.open_midi, intervals=["P8"], apart=2)) == [
        (6, 4),
        (5, 3),
        (4, 2),
        (3, 1),
    ]
