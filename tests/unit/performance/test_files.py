"""Audio files: read again by the library, the same bytes each time, one line for wrong names."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile

from variants.errors import UsageError
from variants.performance.files import FORMATS, audio_bytes
from variants.performance.mix import Click, StringStroke, mixed

STROKES = (
    StringStroke(0.0, 0.4, 52, 50),
    StringStroke(0.2, 0.3, 59, 59, pan=0.5),
    StringStroke(0.4, 0.3, 64, 64, bend=((0.0, 0.0), (0.2, 2.0))),
)


@pytest.mark.parametrize("ending", FORMATS)
def test_files_are_read_again(ending: str) -> None:
    """Rate, channels and length come back, and the sound does within the coding's loss."""
    sound = mixed(STROKES, (Click(0.0, is_first=True), Click(0.5)))
    data = audio_bytes(sound, ending, title="Three notes")
    again, rate = soundfile.read(io.BytesIO(data), always_2d=True)
    assert rate == 44_100
    assert again.shape[1] == 2
    # MP3 pads its frames of 1,152 samples.
    assert abs(len(again) - len(sound)) <= 2 * 1152
    length = min(len(again), len(sound))
    loud = float(np.sqrt(np.mean(sound**2)))
    error = float(np.sqrt(np.mean((again[:length] - sound[:length]) ** 2)))
    assert error < (1e-4 if ending in {".wav", ".flac"} else 0.6 * loud)


@pytest.mark.parametrize("ending", FORMATS)
def test_same_bytes(ending: str) -> None:
    """Two files of one sound are the same, the Ogg stream's number of chance too."""
    sound = mixed(STROKES)
    assert audio_bytes(sound, ending) == audio_bytes(sound, ending)


def test_wrong_ending() -> None:
    """A name that is no audio file says which are."""
    with pytest.raises(UsageError, match=r"\.aiff is no audio file.*end the name in \.wav"):
        audio_bytes(mixed(STROKES), ".aiff")
