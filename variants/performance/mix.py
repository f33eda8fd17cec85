"""From strokes of strings to two channels of sound: strings that are stopped, parts in a room.

Everything is a sum of arrays, with no chance in it: the same strokes give the same samples.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from variants.performance.string import RATE_HZ, glided, sounded, tone

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Samples = npt.NDArray[np.float64]

# A finger or the hand ends a note within this time (to 1/e).
_STOPPED_SECONDS = 0.035
_TAIL_SECONDS = 0.25
# Past this a note that nobody stops is too faint to keep.
_LONGEST_SECONDS = 8.0
# Peaks above are brought down, all of the sound by the same factor.
_HIGHEST_PEAK = 0.89
# The room: how long it rings, how much of it is heard, how many echoes a second.
_ROOM_SECONDS = 0.45
_ROOM_SHARE = 0.09
_ROOM_ECHOES = 1400
_ROOM_FIRST_SECONDS = 0.011
# A click is a short high tone; the first of a measure lies a fifth higher (common practice).
_CLICK_HZ, _CLICK_SECONDS = 1000.0, 0.03


@dataclass(frozen=True, slots=True)
class StringStroke:
    """One stroke of one string.

    Args:
        start: Seconds from the beginning.
        seconds: How long the string is left to ring.
        semitones: MIDI number that it sounds.
        open_semitones: MIDI number of the open string.
        kind: What the string is made of; see `variants.performance.string`.
        strength: 0 to 1; 0.7 is usual.
        damping: What a palm adds to its losses, in 1/s.
        bend: (seconds from the start, semitones from the pitch) of its way, if it moves.
        pan: -1 left to 1 right.
    """

    start: float
    seconds: float
    semitones: float
    open_semitones: float
    kind: str = "nylon"
    strength: float = 0.7
    damping: float = 0.0
    bend: tuple[tuple[float, float], ...] = ()
    pan: float = 0.0


@dataclass(frozen=True, slots=True)
class Click:
    """One click of a metronome: when, and whether a measure begins with it."""

    start: float
    is_first: bool = False


def mixed(
    strokes: Sequence[StringStroke], clicks: Sequence[Click] = (), *, rate_hz: int = RATE_HZ
) -> Samples:
    """Return strokes and clicks as sound.

    Args:
        strokes: In any order.
        clicks: A metronome's.
        rate_hz: Samples in a second.

    Returns:
        An array of float64, a row a sample, two columns: left and right; within -1 to 1.
    """
    import numpy as np

    end = max(
        [
            *(one.start + min(one.seconds, _LONGEST_SECONDS) for one in strokes),
            *(one.start + _CLICK_SECONDS for one in clicks),
            0.0,
        ]
    )
    count = math.ceil((end + _TAIL_SECONDS + _ROOM_SECONDS) * rate_hz)
    sound = np.zeros((count, 2))
    for stroke in strokes:
        samples = _stroke(stroke, rate_hz) * stroke.strength
        first = round(stroke.start * rate_hz)
        # Equal power: what goes to the left leaves the right.
        angle = (stroke.pan + 1) * math.pi / 4
        sound[first : first + len(samples), 0] += samples * math.cos(angle)
        sound[first : first + len(samples), 1] += samples * math.sin(angle)
    sound += _echoes(sound, rate_hz)
    for click in clicks:
        samples = _click(is_first=click.is_first, rate_hz=rate_hz)
        first = round(click.start * rate_hz)
        sound[first : first + len(samples)] += samples[:, None]
    peak = float(np.max(np.abs(sound), initial=0.0))
    return sound * (_HIGHEST_PEAK / peak) if peak > _HIGHEST_PEAK else sound


def _stroke(stroke: StringStroke, rate_hz: int) -> Samples:
    """Return one stroke, stopped at its end."""
    import numpy as np

    seconds = min(stroke.seconds, _LONGEST_SECONDS)
    count = round((seconds + _TAIL_SECONDS) * rate_hz)
    partials = tone(
        stroke.semitones,
        open_semitones=min(stroke.open_semitones, stroke.semitones),
        kind=stroke.kind,
        damping=stroke.damping,
    )
    if stroke.bend:
        times, way = zip(*stroke.bend, strict=True)
        bent = np.interp(np.arange(count) / rate_hz, times, way)
        samples = glided(partials, bent, rate_hz=rate_hz)
    else:
        samples = sounded(partials, count / rate_hz, rate_hz=rate_hz)[:count]
    stopped = round(seconds * rate_hz)
    tail = np.arange(len(samples) - stopped) / rate_hz
    samples[stopped:] *= np.exp(-tail / _STOPPED_SECONDS)
    return samples


@lru_cache(maxsize=4)
def _click(*, is_first: bool, rate_hz: int) -> Samples:
    import numpy as np

    times = np.arange(round(_CLICK_SECONDS * rate_hz)) / rate_hz
    pitch = _CLICK_HZ * (1.5 if is_first else 1.0)
    fading: Samples = 0.25 * np.exp(-times / 0.006) * np.sin(2 * math.pi * pitch * times)
    return fading


def _echoes(sound: Samples, rate_hz: int) -> Samples:
    """Return what the room adds, another pattern of echoes for each ear."""
    import numpy as np

    added = np.zeros_like(sound)
    size = 1 << (len(sound) - 1).bit_length()
    for ear in (0, 1):
        room = np.fft.rfft(_room(ear, rate_hz), size)
        added[:, ear] = np.fft.irfft(np.fft.rfft(sound[:, ear], size) * room, size)[: len(sound)]
    return added


@lru_cache(maxsize=4)
def _room(ear: int, rate_hz: int) -> Samples:
    """Return the answer of a small room: single echoes that grow denser in nothing but number.

    Each is a sample of plus or minus one, fading by 60 dB over the room's time, at places given by
    a linear congruential row (Numerical Recipes' constants): no generator whose stream may change.
    """
    import numpy as np

    count = round(_ROOM_SECONDS * rate_hz)
    answer = np.zeros(count)
    state = 20_011 + 7_919 * ear
    for number in range(round(_ROOM_ECHOES * _ROOM_SECONDS)):
        state = (1_664_525 * state + 1_013_904_223) % 2**32
        at = _ROOM_FIRST_SECONDS + (number + state / 2**32) / _ROOM_ECHOES
        place = round(at * rate_hz)
        if place < count:
            sign = 1.0 if state & 0x1000 else -1.0
            answer[place] += sign * 10 ** (-3 * at / _ROOM_SECONDS)
    return answer * (_ROOM_SHARE / math.sqrt(float(np.sum(answer**2))))
