"""The root of notes that sound together."""

from __future__ import annotations

import pytest

from variants.music import Pitch
from variants.music.chord import root_of


def root(text: str) -> str:
    """Return the root of notes given by name."""
    found = root_of([Pitch.parse(name) for name in text.split()])
    return found.name if found else ""


@pytest.mark.parametrize(
    ("notes", "name"),
    [
        ("E2 B2", "E"),
        ("B2 E3", "E"),
        ("G2 D3 G3", "G"),
        ("D3 G3 D4", "G"),
        ("C4 E4", "C"),
        ("E3 C4", "C"),
        ("A3 C4", "A"),
        ("C4 A4", "A"),
        ("G3 F4", "G"),
        ("F3 G3", "G"),
        ("C4 C5", "C"),
        ("E4", "E"),
    ],
)
def test_two_notes(notes: str, name: str) -> None:
    """Power chords, thirds and sevenths have their root below, inverted ones above."""
    assert root(notes) == name


@pytest.mark.parametrize(
    ("notes", "name"),
    [
        ("C3 E3 G3", "C"),
        ("E3 G3 C4", "C"),
        ("G3 C4 E4", "C"),
        ("A2 E3 A3 C4 E4", "A"),
        ("C3 E3 A3", "A"),
        ("B3 D4 F4", "B"),
        ("D4 F4 B4", "B"),
        ("G2 B2 D3 F3", "G"),
        ("F3 G3 B3 D4", "G"),
        ("E3 G3 A3 C4", "A"),
        ("C3 E3 G3 B3", "C"),
        ("B2 C3 E3 G3", "C"),
        ("D3 F3 A3 C4", "D"),
        ("B2 D3 F3 A3", "B"),
        ("F3 Ab3 B3 D4", "B"),
        ("F3 Ab3 Cb4 D4", "D"),
        ("C4 E4 G#4", "C"),
        ("E3 G#3 C4", "C"),
        ("C4 F4 G4", "C"),
        ("C4 D4 G4", "C"),
        ("C3 E3 G3 D4", "C"),
        ("A2 E3 G3 C#4", "A"),
    ],
)
def test_chords(notes: str, name: str) -> None:
    """Triads and sevenths in every position by thirds; spelling decides symmetrical chords."""
    assert root(notes) == name


def test_order_does_not_matter() -> None:
    """The notes may come in any order; the root is the lowest note of its name."""
    notes = [Pitch.parse(name) for name in ("C4", "G3", "E4", "C3")]
    assert root_of(notes) == Pitch.parse("C3")
    assert root_of(notes[::-1]) == Pitch.parse("C3")


def test_no_notes() -> None:
    """Silence has no root."""
    assert root_of([]) is None
