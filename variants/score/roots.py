"""The root of each onset: from the chord symbol in force, else from the notes."""

from __future__ import annotations

from variants.music.chord import root_of
from variants.music.pitch import Pitch
from variants.score.model import Event, Measure, Part
from variants.score.signs import Harmony

# Measure index, tick, grace; see `Onset`.
Moment = tuple[int, int, int]


def roots(part: Part) -> dict[Moment, Pitch]:
    """Return the root of every onset of a part: one of the notes that begin there.

    The chord symbol in force names it if its root is among at least two different notes;
    otherwise `variants.music.chord.root_of` decides.
    """
    found: dict[Moment, Pitch] = {}
    symbol: Harmony | None = None
    for index, measure in enumerate(part.measures):
        symbols = sorted(measure.harmonies, key=lambda harmony: harmony.onset)
        coming = iter((*symbols, None))
        following = next(coming)
        for (tick, grace), pitches in sorted(struck(measure).items()):
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


def struck(measure: Measure) -> dict[tuple[int, int], list[Pitch]]:
    """Return the pitches that begin together in a measure, by tick and grace (see `Onset`)."""
    here: dict[tuple[int, int], list[Pitch]] = {}
    for voice in measure.voices:
        for moment, index in moments(voice.events):
            pitches = [
                note.pitch
                for note in voice.events[index].notes
                if note.pitch is not None and not note.tie_stop
            ]
            if pitches:
                here.setdefault(moment, []).extend(pitches)
    return here


def moments(events: tuple[Event, ...]) -> list[tuple[tuple[int, int], int]]:
    """Return tick and grace number of each event of a voice that is played, with its index.

    Grace notes count -n ... -1 before what they lean on; cue notes are left out.
    """
    found: list[tuple[tuple[int, int], int]] = []
    waiting: list[int] = []
    for index, event in enumerate(events):
        if event.is_cue:
            continue
        if event.grace is not None:
            waiting.append(index)
            continue
        found += _graces(waiting, event.onset)
        waiting = []
        found.append(((event.onset, 0), index))
    return found + (_graces(waiting, events[-1].onset) if waiting else [])


def _graces(waiting: list[int], onset: int) -> list[tuple[tuple[int, int], int]]:
    count = len(waiting)
    return [((onset, back - count), index) for back, index in enumerate(waiting)]
