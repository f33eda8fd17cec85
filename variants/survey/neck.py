"""Where a part fits on its neck: in which positions, on which single strings.

A position here is the plain one of the teaching books: four frets, a finger for each, from the
fret of the first finger, with or without open strings. What a hand can do beyond that, and with
what stretch in millimetres, is the fingering's to say.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from variants.score import Instrument, Part, timeline
from variants.survey.pitches import different

FRETS_OF_A_POSITION = 4


@dataclass(frozen=True, slots=True)
class PositionFit:
    """How much of a part one position holds.

    Args:
        position: Fret of the first finger.
        fits: Onsets that can be played there with open strings.
        fits_closed: Onsets that can be played there without.
        strings: Numbers of the strings used, ascending, with the fewest open strings.
    """

    position: int
    fits: int
    fits_closed: int
    strings: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StringFit:
    """One string that holds a whole line.

    Args:
        string: Its number.
        lowest_fret: Fret of the lowest note.
        highest_fret: Fret of the highest note.
    """

    string: int
    lowest_fret: int
    highest_fret: int


@dataclass(frozen=True, slots=True)
class NeckFacts:
    """Where a part fits on the neck.

    Args:
        onsets: Number of onsets.
        too_low: Notes below the lowest string.
        too_high: Notes above the highest fret.
        fewest_places: Places of the note that has fewest (1 and more), of those in range.
        most_places: Places of the note that has most.
        positions: Every position, from the nut up.
        single_strings: The strings that hold the whole part, if no two notes begin together.
    """

    onsets: int
    too_low: int
    too_high: int
    fewest_places: int
    most_places: int
    positions: tuple[PositionFit, ...]
    single_strings: tuple[StringFit, ...]

    @property
    def best(self) -> tuple[PositionFit, ...]:
        """The positions that hold most of the part, from the nut up."""
        most = max((fit.fits for fit in self.positions), default=0)
        return tuple(fit for fit in self.positions if most and fit.fits == most)


def neck_facts(part: Part) -> NeckFacts | None:
    """Return where a part fits; ``None`` if it has no instrument or no pitches."""
    instrument = part.instrument
    onsets = [
        tuple(pitch.midi for pitch in different(pitches)) for pitches in timeline(part).onsets
    ]
    if instrument is None or not onsets:
        return None
    heights = [midi for onset in onsets for midi in onset]
    places = [len(instrument.places(midi)) for midi in set(heights)]
    top = max(1, instrument.top_fret - FRETS_OF_A_POSITION + 1)
    return NeckFacts(
        onsets=len(onsets),
        too_low=sum(midi < instrument.lowest for midi in heights),
        too_high=sum(midi > instrument.highest for midi in heights),
        fewest_places=min((count for count in places if count), default=0),
        most_places=max(places),
        positions=tuple(_fit(instrument, position, onsets) for position in range(1, top + 1)),
        single_strings=_single_strings(instrument, onsets),
    )


def _fit(instrument: Instrument, position: int, onsets: Sequence[tuple[int, ...]]) -> PositionFit:
    fits = fits_closed = 0
    strings: set[int] = set()
    for onset in onsets:
        closed = _placed(instrument, position, onset, is_open_allowed=False)
        found = closed or _placed(instrument, position, onset, is_open_allowed=True)
        fits_closed += closed is not None
        fits += found is not None
        strings.update(found or ())
    return PositionFit(position, fits, fits_closed, tuple(sorted(strings)))


@lru_cache(maxsize=65536)
def _placed(
    instrument: Instrument, position: int, onset: tuple[int, ...], *, is_open_allowed: bool
) -> tuple[int, ...] | None:
    """Return a string for each note of an onset, all different; ``None`` if there are none."""
    frets = range(position, position + FRETS_OF_A_POSITION)
    choices = [
        [
            place.string
            for place in instrument.places(midi)
            if place.fret in frets or (is_open_allowed and place.fret == 0)
        ]
        for midi in onset
    ]
    return _different_strings(choices, ())


def _different_strings(
    choices: Sequence[Sequence[int]], taken: tuple[int, ...]
) -> tuple[int, ...] | None:
    if len(taken) == len(choices):
        return taken
    for string in choices[len(taken)]:
        if string not in taken:
            found = _different_strings(choices, (*taken, string))
            if found is not None:
                return found
    return None


def _single_strings(
    instrument: Instrument, onsets: Sequence[tuple[int, ...]]
) -> tuple[StringFit, ...]:
    if any(len(onset) != 1 for onset in onsets):
        return ()
    low, high = min(onsets)[0], max(onsets)[0]
    found = []
    for string in range(1, instrument.strings + 1):
        frets = [
            place.fret
            for midi in (low, high)
            for place in instrument.places(midi)
            if place.string == string
        ]
        if len(frets) == 2:
            found.append(StringFit(string, *frets))
    return tuple(found)
