"""One grip has one fingering in a piece, and a broken chord is held while it stands."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from variants.fingering import Passage, PassageNote, Settings, finger
from variants.fingering.alike import otherwise
from variants.music import Pitch

USUAL = Settings(open_strings="usual")
# Open and movable chords as strings from the lowest note up; common practice.
CHORDS = {
    "Em": (40, 55, 59, 64),
    "C": (48, 55, 60, 64),
    "Am": (45, 57, 60, 64),
    "B7": (47, 51, 57, 59),
    "G": (43, 55, 59, 62),
    "D": (50, 57, 62, 66),
    "Dm": (50, 57, 62, 65),
    "E": (40, 56, 59, 64),
    "Bm": (47, 59, 62, 66),
    "F": (53, 57, 60, 65),
}
PATTERNS = ((0, 1, 2, 3, 2, 1), (0, 2, 1, 3, 1, 2), (0, 1, 2, 3, 2, 3, 1, 2))


def broken(names: list[str], pattern: tuple[int, ...]) -> Passage:
    """Return a measure of eighths for each chord, broken twice in each."""
    moments = [(m, note) for m, name in enumerate(names) for note in _twice(name, pattern)]
    size = 2 * len(pattern)
    notes = tuple(
        PassageNote(onset=2 * i, duration=2, midi=midi, measure=m)
        for i, (m, midi) in enumerate(moments)
    )
    starts = tuple(2 * size * m for m in range(len(names)))
    return Passage(notes=notes, ticks_per_quarter=4, measure_starts=starts)


def _twice(name: str, pattern: tuple[int, ...]) -> list[int]:
    return [CHORDS[name][step] for step in pattern * 2]


@settings(max_examples=20)
@given(st.lists(st.sampled_from(sorted(CHORDS)), min_size=1, max_size=4), st.sampled_from(PATTERNS))
def test_a_broken_chord_keeps_its_grip(names: list[str], pattern: tuple[int, ...]) -> None:
    """Each note of a chord that stands for a measure has one string and one finger in it."""
    music = broken(names, pattern)
    found = finger(music, USUAL).notes
    for measure in range(len(names)):
        places: dict[int, set[tuple[int, int]]] = {}
        for note, place in zip(music.notes, found, strict=True):
            if note.measure == measure:
                places.setdefault(note.midi, set()).add((place.string, place.finger))
        assert all(len(one) == 1 for one in places.values()), (names[measure], places)


@pytest.mark.parametrize(
    ("text", "least"), [("G2+D3 A2+E3 C3+G3 D3+A3", 13), ("G3+C4 A3+D4 Bb3+Eb4 C4+F4", 11)]
)
def test_a_shape_keeps_its_fingers(text: str, least: int) -> None:
    """Power chords have one fingering, fourths but for a place or two that are named."""
    dyads = [[Pitch.parse(one).midi for one in dyad.split("+")] for dyad in text.split()]
    order = [0, 1, 2, 3, 1, 0, 3, 2, 0, 2, 1, 3, 0]
    notes = tuple(
        PassageNote(onset=4 * i, duration=4, midi=midi, measure=i // 4)
        for i, chosen in enumerate(order)
        for midi in dyads[chosen]
    )
    starts = tuple(range(0, 4 * len(order), 16))
    found = finger(Passage(notes=notes, ticks_per_quarter=4, measure_starts=starts), USUAL)
    others = list(otherwise(found.notes, found.hands))
    assert len(order) - sum(one.count for one in others) >= least
