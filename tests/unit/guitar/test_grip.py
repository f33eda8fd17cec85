"""Grips of known shapes, limits, barres and the thumb."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.oracles.grip_laws import is_legal
from variants.guitar.grip import THUMB, Reach, grips, placements
from variants.guitar.hand import Hand
from variants.guitar.shapes import ChordGrip

STANDARD = Reach(
    open_midi=(64, 59, 55, 50, 45, 40),
    top_frets=(19,) * 6,
    offsets=(0,) * 6,
    scale_mm=650.0,
    hand=Hand.of("medium"),
    strings=(1, 2, 3, 4, 5, 6),
)

Shape = tuple[tuple[int, int, int], ...]


def shapes(midis: tuple[int, ...], reach: Reach = STANDARD) -> set[Shape]:
    """Return the grips as (string, fret, finger) triples in the order of the notes."""
    table = grips(midis, reach)
    return {
        tuple(
            (
                int(table.strings[row, note]),
                int(table.frets[row, note]),
                int(table.fingers[row, note]),
            )
            for note in range(len(midis))
        )
        for row in range(len(table))
    }


def test_a_single_note_has_each_place_and_finger() -> None:
    """E4 is open on string 1 and stopped on strings 2 to 5 with any of four fingers."""
    found = shapes((64,))
    assert ((1, 0, 0),) in found
    assert {note[0][:2] for note in found} == {(1, 0), (2, 5), (3, 9), (4, 14), (5, 19)}
    assert len(found) == 1 + 4 * 4


def test_full_barre_with_fingers_above() -> None:
    """F major in the first position: one finger over six strings, three above it."""
    barre = ((6, 1, 1), (5, 3, 3), (4, 3, 4), (3, 2, 2), (2, 1, 1), (1, 1, 1))
    assert barre in shapes((41, 48, 53, 57, 60, 65))


def test_no_barre_when_the_level_forbids_it() -> None:
    """Without barres two notes at one fret take two fingers."""
    free = replace(STANDARD, barres=False)
    pair = {
        shape for shape in shapes((60, 64), free) if shape[0][:2] == (3, 5) and shape[1][0] == 2
    }
    assert pair
    assert all(shape[0][2] != shape[1][2] for shape in pair)


def test_a_barre_crosses_no_open_string() -> None:
    """A finger cannot lie over a string that has to ring open between its ends."""
    across = ((5, 2, 1), (4, 0, 0), (3, 2, 1))
    assert across not in shapes((47, 50, 57))
    assert not is_legal(across, STANDARD)


def test_the_limits_of_a_level_are_hard() -> None:
    """Highest fret, strings, fingers and span in frets leave nothing beyond them."""
    tight = replace(
        STANDARD, top_frets=(5,) * 6, strings=(1, 2, 3), fingers=(1, 2, 3), max_span_frets=2
    )
    found = shapes((60, 64), tight)
    assert found
    for shape in found:
        assert all(string <= 3 and fret <= 5 and finger <= 3 for string, fret, finger in shape)
        stopped = [fret for _, fret, _ in shape if fret]
        assert max(stopped) - min(stopped) <= 2


def test_a_small_hand_cannot_reach_four_frets_in_the_first_position() -> None:
    """Fret 1 to fret 4 is 97.6 mm on 650 mm: a medium hand reaches it, a small one does not."""
    notes = (46, 58 + 5)  # B flat 2 at string 5 fret 1, E flat 4 at string 2 fret 4
    wide = {((5, 1, 1), (2, 4, 4))}
    assert wide <= shapes(notes)
    assert not wide & shapes(notes, replace(STANDARD, hand=Hand.of("small")))


def test_the_thumb_only_when_asked_for() -> None:
    """The thumb stops the lowest string, beside the index finger."""
    notes = (42, 54, 58)
    assert all(finger != THUMB for shape in shapes(notes) for _, _, finger in shape)
    thumbs = {
        shape
        for shape in shapes(notes, replace(STANDARD, thumb=True))
        if any(finger == THUMB for _, _, finger in shape)
    }
    assert thumbs
    assert all(shape[0] == (6, 2, THUMB) for shape in thumbs)


def test_re_entrant_strings_keep_their_order() -> None:
    """On a ukulele (g C E A) the high g hangs where the bass would: string 4 fret 0 is G4."""
    ukulele = replace(
        STANDARD,
        open_midi=(69, 64, 60, 67),
        top_frets=(12,) * 4,
        offsets=(0,) * 4,
        strings=(1, 2, 3, 4),
        scale_mm=345.0,
    )
    assert ((4, 0, 0), (3, 0, 0), (2, 0, 0), (1, 3, 3)) in shapes((67, 60, 64, 72), ukulele)


def test_a_short_string_counts_its_own_frets() -> None:
    """The fifth string of a banjo starts at fret 5: its fret 2 lies beside fret 7."""
    banjo = replace(
        STANDARD,
        open_midi=(62, 59, 55, 50, 67),
        top_frets=(22, 22, 22, 22, 17),
        offsets=(0, 0, 0, 0, 5),
        strings=(1, 2, 3, 4, 5),
    )
    assert (5, 7) in banjo.places(69)
    assert (5, 0) in banjo.places(67)


@pytest.mark.parametrize("midis", [(39,), (90,), (40, 41), (40, 40)])
def test_what_cannot_be_held_has_no_grip(midis: tuple[int, ...]) -> None:
    """Out of range, two notes for one string: there is no grip, and no error here."""
    assert len(grips(midis, STANDARD)) == 0
    assert placements(midis, STANDARD) == []


def test_the_barre_of_a_grip() -> None:
    """F with a barre over six strings, A minor without one, and open strings alone."""
    grips = ("133211/134211", "x02210/-02310", "000000/000000")
    assert [ChordGrip.parse(text).barre for text in grips] == [6, 1, 1]
