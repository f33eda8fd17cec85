"""Strokes to sound: when, where, how long, and never beyond full scale."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from variants.performance.mix import Click, StringStroke, mixed

RATE = 8_000


def _rms(samples: np.ndarray) -> float:
    return float(np.sqrt(np.mean(samples**2)))


def test_a_stroke_begins_when_it_says() -> None:
    """Nothing sounds before the stroke, and within 5 ms of it something does."""
    sound = mixed([StringStroke(0.5, 0.5, 57, 55)], rate_hz=RATE)
    assert float(np.max(np.abs(sound[: RATE // 2 - 1]))) < 1e-12
    assert float(np.max(np.abs(sound[RATE // 2 : RATE // 2 + 40]))) > 1e-3


def test_a_stopped_string_is_silent() -> None:
    """A tenth of a second after its end a note is 20 dB down; left alone it is not."""
    short = mixed([StringStroke(0.0, 0.5, 45, 45)], rate_hz=RATE)
    long = mixed([StringStroke(0.0, 2.0, 45, 45)], rate_hz=RATE)
    after = slice(round(0.6 * RATE), round(0.7 * RATE))
    assert _rms(short[after]) < 0.3 * _rms(long[after])


def test_pan() -> None:
    """A stroke on the left is louder there, one in the middle is alike in both ears."""
    left = mixed([StringStroke(0.0, 0.3, 57, 55, pan=-0.8)], rate_hz=RATE)
    middle = mixed([StringStroke(0.0, 0.3, 57, 55)], rate_hz=RATE)
    assert _rms(left[:, 0]) > 3 * _rms(left[:, 1])
    assert abs(_rms(middle[:, 0]) / _rms(middle[:, 1]) - 1) < 0.1


def test_clicks() -> None:
    """A click is heard where it is asked for, the first of a measure higher."""
    plain, first = (mixed((), [Click(0.1, is_first=one)], rate_hz=RATE) for one in (False, True))
    for sound in (plain, first):
        assert float(np.max(np.abs(sound[: RATE // 10]))) < 1e-12
        assert _rms(sound[RATE // 10 : RATE // 10 + 100]) > 0.01
    crossings = [int(np.sum(np.diff(np.sign(one[810:900, 0])) != 0)) for one in (plain, first)]
    assert crossings[1] > crossings[0]


def test_a_bend_ends_at_its_pitch() -> None:
    """A bend of two semitones ends where a note two semitones higher sounds."""
    bent = mixed([StringStroke(0.0, 1.5, 57, 55, bend=((0.0, 0.0), (0.5, 2.0)))], rate_hz=RATE)
    late = bent[round(0.8 * RATE) : round(1.4 * RATE), 0] * np.hanning(round(0.6 * RATE))
    spectrum = np.abs(np.fft.rfft(late, 1 << 16))
    peak = float(np.argmax(spectrum)) * RATE / (1 << 16)
    harmonics = [abs(12 * np.log2(peak / (440 * 2 ** ((59 - 69) / 12) * n))) for n in (1, 2, 3)]
    assert min(harmonics) < 0.1


@given(
    st.lists(
        st.builds(
            StringStroke,
            start=st.floats(min_value=0, max_value=0.3),
            seconds=st.floats(min_value=0.01, max_value=0.4),
            semitones=st.integers(min_value=40, max_value=84),
            open_semitones=st.just(40),
            strength=st.floats(min_value=0, max_value=1),
            pan=st.floats(min_value=-1, max_value=1),
        ),
        max_size=8,
    )
)
@settings(max_examples=15)
def test_never_beyond_full_scale(strokes: list[StringStroke]) -> None:
    """However many strings sound, nothing is clipped, and the same strokes give the same sound."""
    sound = mixed(strokes, rate_hz=RATE)
    assert float(np.max(np.abs(sound), initial=0.0)) <= 0.9
    assert np.array_equal(sound, mixed(strokes, rate_hz=RATE))
