"""Fret positions, stretches, intervals across strings and markers against outside figures."""

from __future__ import annotations

import pytest

from variants.guitar import (
    STANDARD,
    fret_mm,
    instrument_for,
    interval_table,
    marked_frets,
    parse_tuning,
    span_mm,
)
from variants.score.instrument import Place

GUITAR = instrument_for(STANDARD)


def test_rule_of_17_817() -> None:
    """Each fret takes 1/17.817 of the length that is left (ghettoluthier.blogspot, July 2013).

    The number is 1 / (1 - 2 ** (-1 / 12)) = 17.81715, the makers' exact form of the old rule of
    eighteen; the frets are computed here by repeated subtraction, not by our formula.
    """
    left_mm = 650.0
    for fret in range(1, 25):
        left_mm -= left_mm / 17.81715
        assert fret_mm(fret, scale_length_mm=650.0) == pytest.approx(650.0 - left_mm, abs=0.001)


@pytest.mark.parametrize(
    ("fret", "mm"), [(1, 36.5), (2, 70.9), (3, 103.4), (5, 163.1), (7, 216.2), (12, 325.0)]
)
def test_frets_of_a_full_size_guitar(fret: int, mm: float) -> None:
    """Equal temperament, L = 650 mm, computed by hand to a tenth of a millimetre."""
    assert fret_mm(fret, scale_length_mm=650.0) == pytest.approx(mm, abs=0.05)


# Distance between the frets of finger 1 and finger 4 in positions I, III, V, VII, and over five
# frets in I, computed from the equal-temperament formula for one maker's published scale lengths
# of fractional guitars (yikaow.com 82517).
STRETCHES_MM = {
    650.0: (97.6, 87.0, 77.5, 69.0, 126.6),
    578.0: (86.8, 77.3, 68.9, 61.4, 112.5),
    522.0: (78.4, 69.8, 62.2, 55.4, 101.6),
    484.0: (72.7, 64.8, 57.7, 51.4, 94.2),
}


@pytest.mark.parametrize("length_mm", STRETCHES_MM)
def test_stretch_in_positions(length_mm: float) -> None:
    """Four frets are a different distance in each position and on each size of guitar."""
    ends = ((1, 4), (3, 6), (5, 8), (7, 10), (1, 5))
    found = [span_mm(low, high, scale_length_mm=length_mm) for low, high in ends]
    assert found == pytest.approx(STRETCHES_MM[length_mm], abs=0.051)


NAMES = ("m3", "M3", "P4", "P5", "m6", "M6", "P8")
# Frets of the higher note minus frets of the lower, for two notes on a guitar in standard
# tuning: common practice (every chord book's shapes follow from it).
NEIGHBOURS = (-2, -1, 0, 2, 3, 4, 7)
ACROSS_G_AND_B = (-1, 0, 1, 3, 4, 5, 8)


@pytest.mark.parametrize("pair", [(6, 5), (5, 4), (4, 3), (2, 1)])
def test_neighbouring_strings_a_fourth_apart(pair: tuple[int, int]) -> None:
    """Common practice: a fourth needs one fret, a fifth two more."""
    row = interval_table(STANDARD.open_midi, intervals=NAMES)[pair]
    assert tuple(row[name] for name in NAMES) == NEIGHBOURS


def test_across_g_and_b() -> None:
    """Common practice: across the third and second string everything is one fret further."""
    row = interval_table(STANDARD.open_midi, intervals=NAMES)[3, 2]
    assert tuple(row[name] for name in NAMES) == ACROSS_G_AND_B


@pytest.mark.parametrize(
    ("pairs", "frets"), [(((6, 4), (5, 3)), (-2, -1, 2)), (((4, 2), (3, 1)), (-1, 0, 3))]
)
def test_a_string_left_out(pairs: tuple[tuple[int, int], ...], frets: tuple[int, ...]) -> None:
    """Common practice: sixths and octaves with a string left out between them."""
    names = ("m6", "M6", "P8")
    table = interval_table(STANDARD.open_midi, intervals=names, apart=2)
    for pair in pairs:
        assert tuple(table[pair][name] for name in names) == frets


def test_open_fourth_and_third_string() -> None:
    """Common practice: open strings 4 and 3 sound as fret 5 of strings 5 and 4."""
    assert [GUITAR.sounding(Place(4, 0)), GUITAR.sounding(Place(3, 0))] == [
        GUITAR.sounding(Place(5, 5)),
        GUITAR.sounding(Place(4, 5)),
    ]


def test_power_chord_on_g() -> None:
    """Common practice: the root-position power chord on G stands at fret 3 of string 6.

    liquisearch.com (power chord): G5 is 6:3 5:5, with the octave 4:5.
    """
    root, fifth, octave = 43, 50, 55
    assert Place(6, 3) in GUITAR.places(root)
    apart = interval_table(STANDARD.open_midi, intervals=["P5"])[6, 5]["P5"]
    assert Place(5, 3 + apart) in GUITAR.places(fifth)
    assert (Place(5, 5) in GUITAR.places(fifth), Place(4, 5) in GUITAR.places(octave)) == (
        True,
        True,
    )


# liquisearch.com (power chord): published places of G5 and D5 (root, fifth, root), and of G5
# with the fifth below as a fourth at one fret.
@pytest.mark.parametrize(
    ("shape", "midi"),
    [
        (((6, 3), (5, 5), (4, 5)), (43, 50, 55)),
        (((5, 5), (4, 7), (3, 7)), (50, 57, 62)),
        (((4, 5), (3, 7), (2, 8)), (55, 62, 67)),
        (((3, 7), (2, 10), (1, 10)), (62, 69, 74)),
        (((5, 5), (4, 5)), (50, 55)),
    ],
)
def test_published_power_chords(shape: tuple[tuple[int, int], ...], midi: tuple[int, ...]) -> None:
    """Root, fifth and octave come out where the published shapes have them."""
    assert tuple(GUITAR.sounding(Place(*place)) for place in shape) == midi


def test_power_chord_in_drop_d() -> None:
    """In drop D a power chord lies at one fret of strings 6, 5 and 4 (scribd.com 371957515)."""
    drop_d = instrument_for(parse_tuning("drop-d"))
    low = [drop_d.sounding(Place(string, 5)) for string in (6, 5, 4)]
    assert low == [43, 50, 55]


def test_markers() -> None:
    """Markers stand at 3, 5, 7, 9, 12, 15, 17, 19, 21 (guitarfasttrack.com, acousticgold.com)."""
    assert marked_frets(22) == (3, 5, 7, 9, 12, 15, 17, 19, 21)
