"""The fingering engine: which string, fret and finger for each note, and why.

Nothing heavy is imported until a passage is fingered.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from variants.fingering.answer import (
    Barre,
    Fingered,
    FingeredNote,
    HandAt,
    UnplayableOnset,
    roman,
)
from variants.fingering.passage import (
    HandPin,
    Passage,
    PassageNote,
    Settings,
    parse_fingers,
)

if TYPE_CHECKING:
    from variants.fingering.every_way import Way

__all__ = [
    "Barre",
    "Fingered",
    "FingeredNote",
    "HandAt",
    "HandPin",
    "Passage",
    "PassageNote",
    "Settings",
    "UnplayableOnset",
    "alternatives",
    "explain",
    "finger",
    "parse_fingers",
    "roman",
    "ways",
]


def finger(passage: Passage, settings: Settings | None = None) -> Fingered:
    """Return the best fingering of a passage.

    Raises:
        UnplayableOnset: No hand can play an onset within the limits.

    >>> line = Passage(notes=tuple(
    ...     PassageNote(onset=480 * i, duration=480, midi=midi) for i, midi in enumerate((64, 65))))
    >>> [(note.string, note.fret) for note in finger(line).notes]
    [(1, 0), (1, 1)]
    """
    return _solved(passage, settings or Settings())


@lru_cache(maxsize=4)
def _solved(passage: Passage, settings: Settings) -> Fingered:
    # Variants of one piece that differ in what is printed alone have one fingering.
    from variants.fingering.solve import solve

    return solve(passage, settings)


def alternatives(
    passage: Passage, settings: Settings | None = None, *, count: int = 3
) -> tuple[Fingered, ...]:
    """Return up to ``count`` best fingerings that differ in a place or a finger, best first.

    Raises:
        UnplayableOnset: No hand can play an onset within the limits.
    """
    from variants.fingering.solve import solve_many

    return solve_many(passage, settings or Settings(), count)


def ways(passage: Passage, settings: Settings | None = None) -> tuple[Way, ...]:
    """Return every really different way to play a passage, best first.

    Raises:
        UnplayableOnset: No hand can play an onset within the limits.
    """
    from variants.fingering.every_way import ways as all_ways

    return all_ways(passage, settings or Settings())


def explain(passage: Passage, fingered: Fingered) -> tuple[str, ...]:
    """Return one sentence with numbers for each onset of a fingering.

    >>> one = Passage(notes=(PassageNote(onset=0, duration=480, midi=60),))
    >>> explain(one, finger(one))[0].partition(", cost")[0]
    'quarter 1: position I, no stretch, the hand stays, no open string'
    """
    return tuple(f"{passage.place_of(hand.onset)}: {hand.sentence()}" for hand in fingered.hands)
