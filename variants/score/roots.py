"""The root of each onset: from the chord symbol in force, else from the notes."""

from __future__ import annotations

from itertools import groupby

from variants.music.chord import root_of
from variants.music.pitch import Pitch
from variants.score.model import Part
from variants.score.signs import Harmony
from variants.score.timeline import Moment, timeline


def roots(part: Part) -> dict[Moment, Pitch]:
    """Return the root of every onset of a part: one of the notes that begin there.

    The chord symbol in force names it if its root is among at least two different notes;
    otherwise `variants.music.chord.root_of` decides.
    """
    found: dict[Moment, Pitch] = {}
    symbol: Harmony | None = None
    struck = {
        index: list(here)
        for index, here in groupby(timeline(part).struck.items(), lambda one: one[0][0])
    }
    for index, measure in enumerate(part.measures):
        symbols = sorted(measure.harmonies, key=lambda harmony: harmony.onset)
        coming = iter((*symbols, None))
        following = next(coming)
        for (_, tick, grace), here in struck.get(index, ()):
            pitches = [one.pitch for one in here]
            while following is not None and following.onset <= tick:
                symbol, following = following, next(coming)
            root = chord_root(pitches, symbol)
            if root is not None:
                found[index, tick, grace] = root
        symbol = symbols[-1] if symbols else symbol
    return found


def chord_root(pitches: list[Pitch], symbol: Harmony | None) -> Pitch | None:
    """Return the root of notes over a chord symbol: the lowest such note."""
    if symbol is not None and symbol.root is not None:
        named = Pitch(symbol.root[0], symbol.root[1], 4).pitch_class
        lowest = min(
            (pitch for pitch in pitches if pitch.pitch_class == named),
            key=lambda pitch: pitch.semitones,
            default=None,
        )
        if lowest is not None and len({pitch.pitch_class for pitch in pitches}) > 1:
            return lowest
    return root_of(pitches)
