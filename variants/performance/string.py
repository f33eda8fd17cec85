"""A plucked string as a sum of its partials, each with its own decay.

A model of this kind (modal, or additive) says directly what a listener compares: every partial is
exactly in tune, the decay of each is a number that can be held against measured guitars, and the
loudness of a note can be computed before it is made. So notes are equally loud from fret to fret,
and timbre changes smoothly along the neck. The ingredients:

- how strong a partial is: the ideal string, plucked at a point, pulls at its bridge with
  sin(k pi b) / k (Fletcher and Rossing, *The Physics of Musical Instruments*, section 2.8); a
  finger is no point, which fills the gaps and takes off the top;
- where it lies: a stiff string's partials are stretched by its inharmonicity (the same, 2.18);
- how it dies away: a loss that grows with frequency, more for nylon than for steel (as
  Woodhouse found, *Plucked guitar transients*, Acta Acustica 90, 2004; the numbers are ours, chosen
  for decays of 60 dB within what he and Jansson report, from memory);
- the body: energy at 500 to 800 Hz and 1.5 to 4 kHz is what makes a good guitar, and above 5 kHz
  only the attack is heard (Jansson, *Fundamentals of guitar tone*, JASA 71, S8, 1982);
- loudness: the K weighting of ITU-R BS.1770.

The page in the browser gets the same numbers (`tone`), not a second model.
"""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Samples = npt.NDArray[np.float64]

RATE_HZ = 44_100
# K weighting at 48 kHz: the two filters of ITU-R BS.1770-4, tables 1 and 2.
_K_RATE_HZ = 48_000
_K_SHELF = ((1.53512485958697, -2.69169618940638, 1.19839281085285),
            (1.0, -1.69065929318241, 0.73248077421585))  # fmt: skip
_K_HIGH_PASS = ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))
# Loudness is compared over the gating block of the same recommendation.
_LOUD_SECONDS = 0.4
_LOUDNESS = 0.1
_MOST_PARTIALS = 48
# Nothing above is worth its samples: the attack alone is heard there.
_HIGHEST_HZ = 9_000.0
# A partial so far below the strongest cannot be heard beside it.
_FAINT = 10 ** (-66 / 20)
_ATTACK_SECONDS = 0.003
_BLOCK = 256


@dataclass(frozen=True, slots=True)
class StringKind:
    """What a string is made of, as far as it is heard.

    Args:
        name: ``nylon``, ``steel`` or ``bass``.
        inharmonicity: Of the open string; a stopped one has more, by its length squared.
        pluck: Where it is plucked, as a share of its whole length from the bridge.
        finger_hz: The frequency above which the width of what plucks takes the top off.
        loss: Loss at the lowest frequencies, in 1/s.
        loss_khz: What each kHz adds to it, in 1/s.
    """

    name: str
    inharmonicity: float
    pluck: float
    finger_hz: float
    loss: float
    loss_khz: float


KINDS = {
    kind.name: kind
    for kind in (
        StringKind("nylon", 4e-5, 0.19, 1900.0, 1.1, 4.2),
        StringKind("steel", 6e-5, 0.16, 3200.0, 0.65, 1.6),
        StringKind("bass", 9e-5, 0.24, 900.0, 0.45, 2.6),
    )
}


@dataclass(frozen=True, slots=True)
class Partial:
    """One partial: where it lies, how strong it is at the pluck, and how it dies away.

    Args:
        hertz: Frequency in Hz.
        amplitude: 0 to about 1.
        seconds: The time in which it falls to 1/e.
    """

    hertz: float
    amplitude: float
    seconds: float


def hertz(semitones: float) -> float:
    """Return the frequency of a MIDI number, A4 = 440 Hz (ISO 16), equal temperament.

    >>> hertz(69), round(hertz(40), 2)
    (440.0, 82.41)
    """
    return float(440.0 * 2 ** ((semitones - 69) / 12))


@lru_cache(maxsize=1024)
def tone(
    semitones: float, *, open_semitones: float, kind: str = "nylon", damping: float = 0.0
) -> tuple[Partial, ...]:
    """Return the partials of a note, equally loud whichever note it is.

    Args:
        semitones: MIDI number of the note.
        open_semitones: MIDI number of the open string that it is played on, capo left out.
        kind: Name of a `StringKind`.
        damping: What a palm on the bridge adds to every loss, in 1/s.

    Raises:
        KeyError: There is no such kind.
    """
    string = KINDS[kind]
    length = 2.0 ** (-max(0.0, semitones - open_semitones) / 12)
    lowest = hertz(semitones)
    stiff = string.inharmonicity / length**2
    # The hand plucks at one place, so at another share of a string that is stopped.
    share = min(0.5, string.pluck / length)
    found = []
    for number in range(1, _MOST_PARTIALS + 1):
        frequency = number * lowest * math.sqrt((1 + stiff * number**2) / (1 + stiff))
        if frequency > _HIGHEST_HZ:
            break
        gap = math.sqrt(math.sin(number * math.pi * share) ** 2 + 0.08)
        amplitude = gap / number * _finger(frequency, string) * body(frequency)
        loss = string.loss + string.loss_khz * frequency / 1000 + damping
        found.append(Partial(frequency, amplitude, 1 / loss))
    strongest = max(one.amplitude for one in found)
    heard = [one for one in found if one.amplitude > _FAINT * strongest]
    scale = _LOUDNESS / math.sqrt(loudness(heard))
    return tuple(Partial(one.hertz, one.amplitude * scale, one.seconds) for one in heard)


def _finger(frequency: float, string: StringKind) -> float:
    return 1 / (1 + (frequency / string.finger_hz) ** 2)


def body(frequency: float) -> float:
    """Return what the body makes of a frequency: broad hills where good guitars have them.

    Real bodies have narrow resonances too, which make single frets jump out; they are left out on
    purpose.
    """
    low = 1 / math.sqrt(1 + (85 / frequency) ** 4)
    hills = 1 + 0.5 * _hill(frequency, 105, 0.5) + 0.6 * _hill(frequency, 640, 0.45)
    hills += 0.5 * _hill(frequency, 2450, 0.7)
    return low * hills / math.sqrt(1 + (frequency / 5000) ** 6)


def _hill(frequency: float, middle: float, octaves: float) -> float:
    return math.exp(-((math.log2(frequency / middle) / octaves) ** 2))


def loudness(partials: tuple[Partial, ...] | list[Partial]) -> float:
    """Return the K-weighted mean square of the first 0.4 seconds of a note."""
    energy = 0.0
    for one in partials:
        rings = one.seconds / 2 * (1 - math.exp(-2 * _LOUD_SECONDS / one.seconds))
        energy += (one.amplitude * k_weight(one.hertz)) ** 2 / 2 * rings
    return energy / _LOUD_SECONDS


@lru_cache(maxsize=65536)
def k_weight(frequency: float) -> float:
    """Return the gain of the K weighting at a frequency in Hz (ITU-R BS.1770-4)."""
    z = cmath.exp(-2j * math.pi * frequency / _K_RATE_HZ)
    gain = 1.0
    for above, below in (_K_SHELF, _K_HIGH_PASS):
        over = above[0] + above[1] * z + above[2] * z * z
        under = below[0] + below[1] * z + below[2] * z * z
        gain *= abs(over / under)
    return gain


def sounded(partials: tuple[Partial, ...], seconds: float, *, rate_hz: int = RATE_HZ) -> Samples:
    """Return the samples of a note that rings for a time.

    Args:
        partials: From `tone`.
        seconds: How long, from the pluck.
        rate_hz: Samples in a second.

    Returns:
        An array of float64, one channel.
    """
    import numpy as np

    count = max(1, round(seconds * rate_hz))
    blocks = -(-count // _BLOCK)
    rates = np.array([complex(-1 / p.seconds, 2 * math.pi * p.hertz) / rate_hz for p in partials])
    amplitudes = np.array([p.amplitude for p in partials])
    # A decaying sine is the power of a complex number, so a block of samples is a product of two
    # tables: where each block begins, and the steps within one.
    begins = np.exp(np.outer(np.arange(blocks) * _BLOCK, rates)) * amplitudes
    steps = np.exp(np.outer(rates, np.arange(_BLOCK)))
    samples: Samples = (begins @ steps).imag.reshape(-1)[:count]
    return samples * _edge(count, rate_hz)


def glided(partials: tuple[Partial, ...], semitones: Samples, *, rate_hz: int = RATE_HZ) -> Samples:
    """Return the samples of a note whose pitch moves: a bend, a slide, vibrato.

    Args:
        partials: Those of the pitch that it starts from.
        semitones: How far from that pitch it is, for every sample.
        rate_hz: Samples in a second.

    Returns:
        As many samples as ``semitones`` has.
    """
    import numpy as np

    bent = np.asarray(semitones, dtype=float)
    phase = np.cumsum(2.0 ** (bent / 12)) * 2 * math.pi / rate_hz
    phase -= phase[0]
    times = np.arange(len(bent)) / rate_hz
    samples = np.zeros(len(bent))
    for one in partials:
        samples += one.amplitude * np.exp(-times / one.seconds) * np.sin(phase * one.hertz)
    return samples * _edge(len(bent), rate_hz)


def _edge(count: int, rate_hz: int) -> Samples:
    """Return the attack: the string leaves the finger within milliseconds, not in none."""
    import numpy as np

    edge = np.ones(count)
    rise = min(count, round(_ATTACK_SECONDS * rate_hz))
    edge[:rise] = 0.5 - 0.5 * np.cos(math.pi * np.arange(rise) / max(1, rise))
    return edge
