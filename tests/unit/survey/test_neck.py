"""Where a part fits on the neck."""

from __future__ import annotations

from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from tests.strategies import INSTRUMENTS, line
from variants.music import spelled
from variants.music.key import Key
from variants.score import Instrument
from variants.survey import StringFit, neck_facts


def test_open_position() -> None:
    """The C major scale from C3 lies in position I with open strings (common practice)."""
    facts = neck_facts(line("C3 D3 E3 F3", "G3 A3 B3 C4").parts[0])
    assert facts is not None
    first = facts.positions[0]
    assert (first.position, first.fits, first.strings) == (1, 8, (2, 3, 4, 5))
    assert first.fits_closed < 8
    # The same scale, closed, from fret 8 of string 6 in position VII (common practice).
    assert facts.positions[6].fits_closed == 8


def test_power_chord_on_g() -> None:
    """A root-position power chord on G stands at fret 3 of string 6 (common practice)."""
    facts = neck_facts(line("G2+D3").parts[0])
    assert facts is not None
    assert facts.positions[2].fits_closed == 1
    assert facts.positions[2].strings == (5, 6)


def test_two_notes_need_two_strings() -> None:
    """E2 and F2 are on string 6 alone, so no position holds both."""
    facts = neck_facts(line("E2+F2").parts[0])
    assert facts is not None
    assert facts.best == ()


def test_out_of_range() -> None:
    """Notes that no string has are counted, and nothing else breaks."""
    facts = neck_facts(line("C2 E3 C7").parts[0])
    assert facts is not None
    assert (facts.too_low, facts.too_high, facts.fewest_places) == (1, 1, 3)
    assert facts.single_strings == ()


def test_single_strings() -> None:
    """A line fits the strings that have both its lowest and its highest note."""
    facts = neck_facts(line("A2 B2 C3 D3").parts[0])
    assert facts is not None
    assert facts.single_strings == (StringFit(5, 0, 5), StringFit(6, 5, 10))


def test_no_instrument_no_neck() -> None:
    """A part that is for no instrument, and one without notes, fit nowhere."""
    assert neck_facts(line("E3", instrument=None).parts[0]) is None
    assert neck_facts(line("r:w").parts[0]) is None


@st.composite
def _onsets(draw: st.DrawFn) -> tuple[Instrument, tuple[int, ...]]:
    instrument = draw(st.sampled_from(INSTRUMENTS))
    heights = st.integers(instrument.lowest, instrument.highest)
    return instrument, tuple(sorted(draw(st.sets(heights, min_size=1, max_size=4))))


@given(_onsets())
def test_against_brute_force(drawn: tuple[Instrument, tuple[int, ...]]) -> None:
    """A position holds an onset exactly if some choice of different strings does."""
    instrument, onset = drawn
    names = "+".join(str(spelled(midi, Key(0))) for midi in onset)
    facts = neck_facts(line(names, instrument=instrument).parts[0])
    assert facts is not None
    for fit in facts.positions:
        wanted = range(fit.position, fit.position + 4)
        for allowed, found in (({*wanted, 0}, fit.fits), (set(wanted), fit.fits_closed)):
            ways = product(*(instrument.places(midi) for midi in onset))
            expected = any(
                len({place.string for place in way}) == len(way)
                and all(place.fret in allowed for place in way)
                for way in ways
            )
            assert found == expected
