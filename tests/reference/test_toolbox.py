"""The twelve keys against a table of the circle; capo and tuning against equal temperament."""

from __future__ import annotations

from math import log2

import pytest

from tests.strategies import STANDARD, line, placed
from tests.unit.steps.test_families import in_key
from variants.guitar import TUNINGS
from variants.music import Key
from variants.pipeline import run
from variants.score import notes, with_parts
from variants.steps.all_keys import AllKeys
from variants.steps.capo import Capo
from variants.steps.retune import Retune

# The circle of fifths with its signatures as printed at deekor.com L37 (trade.md 8.10): sharps 1-7
# G D A E B F# C#, flats F Bb Eb Ab Db Gb Cb. Of the three pairs that sound alike the one with fewer
# signs; of F# and Gb, six each, F#.
CIRCLE = (
    *(("C", 0), ("G", 1), ("D", 2), ("A", 3), ("E", 4), ("B", 5), ("F#", 6)),
    *(("Db", -5), ("Ab", -4), ("Eb", -3), ("Bb", -2), ("F", -1)),
)
# Relative minors of the same signatures, from the same table's rule: a minor third below the major
# (common practice).
MINORS = ("A", "E", "B", "F#", "C#", "G#", "Eb", "Bb", "F", "C", "G", "D")


@pytest.mark.parametrize("mode", ["major", "minor"])
def test_circle_of_fifths(mode: str) -> None:
    """all-keys walks the published circle, name by name and signature by signature."""
    score = in_key(line("C3 E3 G3 C4"), Key(0, mode))
    keys = AllKeys(start="plain").keys(score)
    # E flat minor is what readers expect before D sharp minor (common practice).
    signs = [-6 if (mode, number) == ("minor", 6) else number for _, number in CIRCLE]
    assert [key.fifths for key in keys] == signs
    names = [name for name, _ in CIRCLE] if mode == "major" else list(MINORS)
    assert [key.tonic for key in keys] == names


def _hertz(midi: float) -> float:
    """Return the frequency of a MIDI number: ISO 16, A4 = 440 Hz, twelve equal semitones."""
    return 440.0 * 2 ** ((midi - 69) / 12)


@pytest.mark.parametrize("fret", range(1, 13))
def test_capo_is_equal_temperament(fret: int) -> None:
    """A capo at fret n shortens the string to L * 2**(-n/12): every note rises by that ratio.

    The fret formula: trade.md 1, exact form of the rule of 18 (17.817), source 6 there.
    """
    score = line("E2 F2 G2 A2")
    score = with_parts(score, [placed(score.parts[0])])
    done = run(score, [Capo(fret=fret, sound="higher")]).score
    length_mm = STANDARD.scale_length_mm
    rest_mm = length_mm * 2 ** (-fret / 12)
    for old, new in zip(notes(score.parts[0]), notes(done.parts[0]), strict=True):
        assert old.pitch is not None
        assert new.pitch is not None
        ratio = _hertz(new.pitch.midi) / _hertz(old.pitch.midi)
        assert ratio == pytest.approx(length_mm / rest_mm)
        assert new.place == old.place


@pytest.mark.parametrize("tuning", [one.name for one in TUNINGS if len(one.strings) == 6])
def test_retuned_places_sound_as_written(tuning: str) -> None:
    """In each tuning a place sounds its open string times 2**(fret/12) (equal temperament)."""
    source = line("E3 A3 D4 G3", "B3 E4 F3 C4")
    done = run(source, [Retune(tuning=tuning)]).score
    instrument = done.parts[0].instrument
    assert instrument is not None
    opened = {one.name: one for one in TUNINGS}[tuning].open_midi
    for note in notes(done.parts[0]):
        assert note.pitch is not None
        wanted = _hertz(note.pitch.midi)
        places = instrument.places(note.pitch.midi)
        assert places
        for place in places:
            sounds = _hertz(opened[place.string - 1]) * 2 ** (place.fret / 12)
            assert 12 * log2(sounds / wanted) == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize(("tuning", "cents"), [("half-step-down", -100), ("whole-step-down", -200)])
def test_same_shapes_lower(tuning: str, cents: int) -> None:
    """Half a step is 100 cents in equal temperament (ISO 16 reference, twelve equal semitones)."""
    source = line("E3 A3 D4 G3")
    done = run(source, [Retune(tuning=tuning, sound="shapes")]).score
    for old, new in zip(notes(source.parts[0]), notes(done.parts[0]), strict=True):
        assert old.pitch is not None
        assert new.pitch is not None
        ratio = _hertz(new.pitch.midi) / _hertz(old.pitch.midi)
        assert 1200 * log2(ratio) == pytest.approx(cents)
