"""Published fingerings come out as the first answer or among the best three.

Sources: M. Carcassi, op. 59, in the 1906 edition (public domain; strings inferred, pitches
checked), a published C major scale in position II, and chord shapes of an open chord
collection (MIT). Editors differ: being among the best three is the measure.
"""

from __future__ import annotations

import pytest

from variants.fingering import Passage, PassageNote, Settings, alternatives

OPEN = (64, 59, 55, 50, 45, 40)
Shape = tuple[tuple[int, int, int], ...]

# (string, fret, finger); the Roman numeral is the position that the edition prints.
CARCASSI: dict[str, Shape] = {
    "I, C": ((5, 3, 3), (4, 2, 2), (3, 0, 0), (2, 1, 1), (1, 0, 0)),
    "I, Dm": ((4, 3, 3), (3, 2, 2), (2, 3, 4), (1, 1, 1)),
    "barre II, Bm": ((5, 2, 1), (4, 4, 3), (3, 4, 4), (2, 3, 2), (1, 2, 1)),
    "small barre I, F": ((4, 3, 3), (3, 2, 2), (2, 1, 1), (1, 1, 1)),
    "III, E flat": ((5, 6, 4), (4, 5, 3), (3, 3, 1), (2, 4, 2)),
    "III, Cm": ((5, 3, 1), (4, 5, 3), (3, 5, 4), (2, 4, 2)),
    "small barre IV, E": ((6, 0, 0), (3, 4, 1), (2, 5, 2), (1, 4, 1)),
    "barre VI, B flat": ((6, 6, 1), (5, 8, 3), (4, 8, 4), (3, 7, 2), (2, 6, 1), (1, 6, 1)),
}
CHORDS: dict[str, tuple[Shape, ...]] = {
    "C x32010": (((5, 3, 3), (4, 2, 2), (3, 0, 0), (2, 1, 1), (1, 0, 0)),),
    "D xx0232": (((4, 0, 0), (3, 2, 1), (2, 3, 3), (1, 2, 2)),),
    "G 320003": (
        ((6, 3, 2), (5, 2, 1), (4, 0, 0), (3, 0, 0), (2, 0, 0), (1, 3, 3)),
        ((6, 3, 3), (5, 2, 2), (4, 0, 0), (3, 0, 0), (2, 0, 0), (1, 3, 4)),
    ),
    "B7 x21202": (((5, 2, 2), (4, 1, 1), (3, 2, 3), (2, 0, 0), (1, 2, 4)),),
    "F 133211": (((6, 1, 1), (5, 3, 3), (4, 3, 4), (3, 2, 2), (2, 1, 1), (1, 1, 1)),),
}
SCALE: Shape = (
    (5, 3, 2),
    (5, 5, 4),
    (4, 2, 1),
    (4, 3, 2),
    (4, 5, 4),
    (3, 2, 1),
    (3, 4, 3),
    (3, 5, 4),
)


def chord(shape: Shape) -> Passage:
    """Return the notes of a shape as one chord."""
    return Passage(
        notes=tuple(
            PassageNote(onset=0, duration=4, midi=OPEN[string - 1] + fret)
            for string, fret, _ in shape
        ),
        ticks_per_quarter=1,
    )


def best_three(passage: Passage, wishes: Settings | None = None) -> list[Shape]:
    """Return the three best answers as (string, fret, finger) triples."""
    return [
        tuple((place.string, place.fret, place.finger) for place in fingered.notes)
        for fingered in alternatives(passage, wishes, count=3)
    ]


@pytest.mark.parametrize("name", CARCASSI)
def test_carcassi_op_59(name: str) -> None:
    """Chords of Carcassi op. 59 as fingered in the 1906 edition."""
    shape = CARCASSI[name]
    position = {"I": 1, "II": 2, "III": 3, "IV": 4, "VI": 6}[name.partition(",")[0].split()[-1]]
    assert shape in best_three(chord(shape), Settings(position=position))


@pytest.mark.parametrize("name", CHORDS)
def test_chord_collection(name: str) -> None:
    """Shapes of the chord collection, from the pitches alone."""
    shapes = CHORDS[name]
    found = best_three(chord(shapes[0]))
    assert any(shape in found for shape in shapes)


def test_c_major_scale_in_position_two() -> None:
    """The published C scale from string 5 to string 3, asked for in position II."""
    passage = Passage(
        notes=tuple(
            PassageNote(onset=i, duration=1, midi=OPEN[string - 1] + fret)
            for i, (string, fret, _) in enumerate(SCALE)
        ),
        ticks_per_quarter=1,
    )
    assert SCALE in best_three(passage, Settings(position=2, closed=True))
