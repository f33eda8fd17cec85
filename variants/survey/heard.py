"""The key as an outside ear hears it: music21's analysis, whatever the signature says."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from variants.score import Part, Score, events


@dataclass(frozen=True, slots=True)
class HeardKey:
    """A key found from the notes alone.

    Args:
        name: ``A minor``.
        correlation: How well the notes fit its profile, at most 1.
        second: The next best key.
        second_correlation: How well they fit that.
    """

    name: str
    correlation: float
    second: str
    second_correlation: float


def heard_key(score: Score, part: Part) -> HeardKey | None:
    """Return the key that music21 hears in a part; ``None`` for a part without pitches.

    The method is Krumhansl and Schmuckler's: how long each pitch class sounds, correlated with the
    profiles of all 24 keys; the profiles are those of Aarden and Essen, music21's default for
    ``analyze("key")``. Short pieces can be heard in several ways, so the second best is given too.
    """
    from music21 import note as m21_note
    from music21 import stream

    notes: Any = stream.Stream()
    for _, event in events(part):
        if event.is_cue or not event.duration:
            continue
        for one in event.notes:
            if one.pitch is not None:
                sounding: Any = m21_note.Note()
                sounding.pitch.midi = one.pitch.midi
                quarters = Fraction(event.duration, score.ticks)
                sounding.duration.quarterLength = quarters
                notes.append(sounding)
    if not len(notes):
        return None
    found: Any = notes.analyze("key")
    second: Any = found.alternateInterpretations[0]
    return HeardKey(
        _name(found.tonic.name, found.mode),
        round(float(found.correlationCoefficient), 3),
        _name(second.tonic.name, second.mode),
        round(float(second.correlationCoefficient), 3),
    )


def _name(tonic: str, mode: str) -> str:
    return f"{tonic.replace('-', 'b')} {mode}"
