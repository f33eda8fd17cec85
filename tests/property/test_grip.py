"""The grips against brute force: complete, and nothing more."""

from __future__ import annotations

from dataclasses import replace
from itertools import product

from hypothesis import given
from hypothesis import strategies as st

from tests.oracles.grip_laws import is_legal
from tests.unit.guitar.test_grip import STANDARD, Shape, shapes
from variants.guitar.grip import Reach
from variants.guitar.hand import Hand

TUNINGS = ((64, 59, 55, 50, 45, 40), (64, 59, 55, 50, 45, 38), (62, 59, 55, 50, 43, 38))


def brute_force(midis: tuple[int, ...], reach: Reach) -> set[Shape]:
    """Try each place with each finger for each note, and keep what the laws allow."""
    found = set()
    fingers = (0, *reach.fingers)
    for placed in product(*(reach.places(midi) for midi in midis)):
        frets = [fret for _, fret in placed if fret]
        if frets and max(frets) - min(frets) > reach.max_span_frets:
            continue
        for chosen in product(fingers, repeat=len(midis)):
            shape = tuple((s, f, k) for (s, f), k in zip(placed, chosen, strict=True))
            if is_legal(shape, reach):
                found.add(shape)
    return found


@given(
    st.lists(st.integers(38, 76), min_size=1, max_size=4).map(tuple),
    st.sampled_from(TUNINGS),
    st.sampled_from(("small", "medium", "large")),
    st.booleans(),
    st.integers(2, 6),
)
def test_grips_are_exactly_what_brute_force_finds(
    midis: tuple[int, ...], tuning: tuple[int, ...], hand: str, barres: bool, span: int
) -> None:
    """For any notes, tuning, hand and limits: the same set, and no grip twice."""
    reach = replace(
        STANDARD, open_midi=tuning, hand=Hand.of(hand), barres=barres, max_span_frets=span
    )
    found = shapes(midis, reach)
    assert found == brute_force(midis, reach)


@given(st.lists(st.integers(45, 70), min_size=1, max_size=4, unique=True).map(tuple))
def test_a_closed_grip_moves_up_by_a_fret(midis: tuple[int, ...]) -> None:
    """Frets get narrower: what a hand holds without open strings it holds a fret higher too."""
    closed = replace(STANDARD, closed=True, top_frets=(18,) * 6)
    higher = replace(closed, top_frets=(19,) * 6)
    moved = {
        tuple((string, fret + 1, finger) for string, fret, finger in shape)
        for shape in shapes(midis, closed)
    }
    assert moved <= shapes(tuple(midi + 1 for midi in midis), higher)


@given(
    st.lists(st.integers(40, 70), min_size=1, max_size=4).map(tuple),
    st.integers(1, 7),
)
def test_a_capo_is_a_transposition(midis: tuple[int, ...], capo: int) -> None:
    """Behind a capo the same shapes sound higher."""
    raised = replace(STANDARD, open_midi=tuple(midi + capo for midi in STANDARD.open_midi))
    assert shapes(midis) == shapes(tuple(midi + capo for midi in midis), raised)
