"""The root of each onset: from the chord symbol in force, else from the notes."""

from __future__ import annotations

from itertools import groupby

from variants.music.chord import root_of
from variants.music.chordkinds import chord_tones
from variants.music.pitch import Alteration, Pitch
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
    """Return the root of notes over a chord symbol: the lowest such note.

    A power chord whose root is foreign to the symbol is a chord of its own: C and G under a
    symbol G, in a riff, are C5.
    """
    told = root_of(pitches)
    if symbol is not None and symbol.root is not None:
        named = Pitch(symbol.root[0], symbol.root[1], 4).pitch_class
        lowest = min(
            (pitch for pitch in pitches if pitch.pitch_class == named),
            key=lambda pitch: pitch.semitones,
            default=None,
        )
        classes = {pitch.pitch_class for pitch in pitches}
        if lowest is not None and len(classes) > 1 and not _is_other_fifth(classes, told, symbol):
            return lowest
    return told


def _is_other_fifth(classes: set[Alteration], told: Pitch | None, symbol: Harmony) -> bool:
    """Whether notes are a root and its fifth, and the symbol's chord does not have that root."""
    if told is None or symbol.root is None or symbol.xml:
        return False
    if classes != {told.pitch_class, (told.pitch_class + 7) % 12}:
        return False
    tones = chord_tones(symbol.kind, symbol.degrees)
    named = Pitch(symbol.root[0], symbol.root[1], 4).pitch_class
    return tones is not None and (told.pitch_class - named) % 12 not in {
        tone.semitones % 12 for tone in tones
    }
