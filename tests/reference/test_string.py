"""The sound of a string held against the outside: pitch, loudness, decay, spectrum.

Frequencies: ISO 16 (A4 = 440 Hz) and equal temperament. Loudness: ITU-R BS.1770-4, the two filters
of its tables run here sample by sample, which is a second statement beside the model's closed sum.
Decay: guitars with nylon strings take 2 to 8 seconds to fall by 60 dB on their lowest partials,
steel ones longer, and higher partials fall faster (Jansson 1982, Woodhouse 2004; from memory).
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt
import pytest

from variants.performance.string import KINDS, hertz, sounded, tone

STRINGS = {
    "nylon": (40, 45, 50, 55, 59, 64),
    "steel": (40, 45, 50, 55, 59, 64),
    "bass": (28, 33, 38, 43),
}
Samples = npt.NDArray[np.float64]
RATE = 48_000
# Enough for the lowest partial alone.
LOW_RATE = 8_000
FRETS = 19
PLACES = [(kind, open_) for kind, opened in STRINGS.items() for open_ in opened]


def _filtered(samples: Samples, above: tuple[float, ...], below: tuple[float, ...]) -> Samples:
    """Run one filter of the recommendation, by its transfer function on a padded transform."""
    size = 1 << (2 * len(samples) - 1).bit_length()
    z = np.exp(-2j * np.pi * np.fft.rfftfreq(size))
    response = np.polyval(above[::-1], z) / np.polyval(below[::-1], z)
    return np.fft.irfft(np.fft.rfft(samples, size) * response, size)[: len(samples)]


def _loudness_db(samples: Samples) -> float:
    """Return the loudness of a block of 0.4 seconds, in LUFS (BS.1770-4, annex 1)."""
    shelf = _filtered(
        samples,
        (1.53512485958697, -2.69169618940638, 1.19839281085285),
        (1.0, -1.69065929318241, 0.73248077421585),
    )
    passed = _filtered(shelf, (1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))
    return -0.691 + 10 * math.log10(float(np.mean(passed**2)))


def _centroid(semitones: int, open_: int, kind: str) -> float:
    partials = tone(semitones, open_semitones=open_, kind=kind)
    weights = [one.amplitude**2 for one in partials]
    return sum(w * one.hertz for w, one in zip(weights, partials, strict=True)) / sum(weights)


@pytest.mark.parametrize(("kind", "open_"), PLACES)
def test_equally_loud_from_fret_to_fret(kind: str, open_: int) -> None:
    """No fret is a decibel louder than its neighbour, nor than any other fret of any string."""
    levels = [
        _loudness_db(
            sounded(tone(open_ + fret, open_semitones=open_, kind=kind), 0.4, rate_hz=RATE)
        )
        for fret in range(FRETS + 1)
    ]
    assert all(abs(one - other) < 1 for one, other in pairwise(levels))
    assert max(levels) - min(levels) < 1.5


@pytest.mark.parametrize(("kind", "open_"), PLACES)
def test_in_tune(kind: str, open_: int) -> None:
    """The spectrum's lowest peak lies within 2 cents of equal temperament."""
    for fret in (0, 5, 12, FRETS):
        partials = tone(open_ + fret, open_semitones=open_, kind=kind)[:6]
        samples = sounded(partials, 1.0, rate_hz=LOW_RATE) * np.hanning(LOW_RATE)
        times = np.arange(LOW_RATE) / LOW_RATE
        cents = np.arange(-20, 21)
        strength = [
            abs(np.dot(samples, np.exp(-2j * np.pi * hertz(open_ + fret + c / 100) * times)))
            for c in cents
        ]
        assert abs(int(cents[int(np.argmax(strength))])) <= 2


@pytest.mark.parametrize("kind", STRINGS)
def test_timbre_changes_smoothly(kind: str) -> None:
    """From fret to fret the centre of the spectrum moves by less than a minor third."""
    for open_ in STRINGS[kind]:
        centres = [_centroid(open_ + fret, open_, kind) for fret in range(FRETS + 1)]
        assert all(0.84 < b / a < 1.19 for a, b in pairwise(centres))


@pytest.mark.parametrize(
    ("kind", "open_", "low", "high"),
    [("nylon", 40, 3, 8), ("nylon", 64, 1.5, 5), ("steel", 40, 6, 14), ("bass", 28, 8, 16)],
)
def test_decay(kind: str, open_: int, low: float, high: float) -> None:
    """The lowest partial takes seconds to fall by 60 dB; every higher one is quicker."""
    partials = tone(open_, open_semitones=open_, kind=kind)
    assert low < partials[0].seconds * math.log(1000) < high
    assert all(a.seconds > b.seconds for a, b in pairwise(partials))


def test_partials_are_stretched() -> None:
    """A stiff string's partials lie above the harmonics, more so where it is stopped short."""
    opened = tone(40, open_semitones=40, kind="steel")
    stopped = tone(52, open_semitones=40, kind="steel")
    for partials, lowest in ((opened, hertz(40)), (stopped, hertz(52))):
        ratios = [one.hertz / lowest / n for n, one in enumerate(partials, 1)]
        assert ratios[0] == pytest.approx(1)
        assert all(a < b for a, b in pairwise(ratios))
    assert stopped[9].hertz / hertz(52) > opened[9].hertz / hertz(40)


@pytest.mark.parametrize(("kind", "open_"), PLACES)
def test_no_single_note_clips(kind: str, open_: int) -> None:
    """Every note alone stays within full scale."""
    for fret in range(FRETS + 1):
        samples = sounded(tone(open_ + fret, open_semitones=open_, kind=kind), 0.5)
        assert float(np.max(np.abs(samples))) < 1


def test_palm_mute_is_short() -> None:
    """A palm on the bridge shortens every partial; kinds are what there is."""
    free = tone(45, open_semitones=45)
    muted = tone(45, open_semitones=45, damping=12.0)
    assert all(b.seconds < a.seconds for a, b in zip(free, muted, strict=False))
    assert set(KINDS) == set(STRINGS)
