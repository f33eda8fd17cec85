"""Levels against the outside: the published rubric's own descriptions, and published stretches.

Rubric: M. A. Velez Vasquez and others, "Quantifying the Ease of Playing Song Chords on the Guitar",
ISMIR 2023; the table is in the README of the repository playability-billboard. Stretches: equal
temperament over the scale lengths of one maker's table of children's guitars (yikaow.com 82517).
"""

from __future__ import annotations

import pytest

from tests.unit.levels.made import level, placed
from variants.guitar.hand import Hand
from variants.guitar.neck import SCALE_LENGTHS_MM
from variants.levels import meets
from variants.levels.rubric import WEIGHTS, Criterion, rubric, weighted
from variants.levels.written import written_part
from variants.score import Score

# Shapes as string:fret/finger, with the notes that they sound (chord data of trade facts, MIT).
SHAPES = {
    "E": ("E2+B2+E3+G#3+B3+E4", "6:0 5:2/2 4:2/3 3:1/1 2:0 1:0"),
    "Em": ("E2+B2+E3+G3+B3+E4", "6:0 5:2/2 4:2/3 3:0 2:0 1:0"),
    "C": ("C3+E3+G3+C4+E4", "5:3/3 4:2/2 3:0 2:1/1 1:0"),
    "F": ("F2+C3+F3+A3+C4+F4", "6:1/1 5:3/3 4:3/4 3:2/2 2:1/1 1:1/1"),
    "Bm": ("B2+F#3+B3+D4+F#4", "5:2/1 4:4/3 3:4/4 2:3/2 1:2/1"),
    "B7": ("B2+D#3+A3+B3+F#4", "5:2/2 4:1/1 3:2/3 2:0 1:2/4"),
    "Eb7#9": ("Eb3+G3+Db4+F#4", "5:6/2 4:5/1 3:6/3 2:7/4"),
    "barred": ("C3+F3+A3+E4", "5:3/3 4:3/4 3:2/1 2:5/1"),
    "shell": ("G2+F3+B3", "6:3/2 4:3/3 3:4/4"),
    "wide": ("F2+C3+A3", "6:1/1 5:3/2 3:2/1"),
}


def _song(*names: str) -> Score:
    """Return a song of one chord a measure."""
    texts = " | ".join(f"{SHAPES[name][0]}:w" for name in names)
    return placed(texts, *(place for name in names for place in SHAPES[name][1].split()))


def _points(score: Score, *, tempo: float = 60.0) -> dict[str, Criterion]:
    written = written_part(score, score.parts[0], tempo=tempo)
    return {one.name: one for one in rubric(written, Hand.of("medium"))}


def test_weights_are_the_published_ones() -> None:
    """Weights 3, 3, 2, 2, 2, 1 and 0, in the order of the published table."""
    assert list(WEIGHTS.values()) == [3, 3, 2, 2, 2, 1, 0]


@pytest.mark.parametrize(
    ("names", "points"),
    [
        # "No uncommon chords", "few", "some", "a lot of uncommon chords".
        (("E", "C", "Em", "B7"), 0),
        (("E", "C", "Em", "B7", "E", "C", "Em", "B7", "Eb7#9"), 1),
        (("E", "C", "Eb7#9"), 2),
        (("Eb7#9", "Eb7#9", "E"), 3),
    ],
)
def test_uncommonness(names: tuple[str, ...], points: int) -> None:
    """Uncommonness of chords, from no uncommon chord to a lot of them."""
    assert _points(_song(*names))["uncommon chords"].points == points


@pytest.mark.parametrize(
    ("names", "points"),
    [
        # "Most chords can be played with two or three fingers".
        (("Em", "Em", "Em"), 0),
        # "Most chords require three fingers or are A or E barre chords".
        (("C", "E", "F"), 1),
        (("F", "F", "Bm"), 1),
        # "Some chords require four fingers to be played or are barre chords (not A or E)".
        (("Em", "C", "B7"), 2),
        # "Mostly chords that require four fingers or barre chords".
        (("B7", "Eb7#9", "C"), 3),
    ],
)
def test_fingering(names: tuple[str, ...], points: int) -> None:
    """Chord fingering difficulty; barres of the A and E shapes count as easier ones."""
    assert _points(_song(*names))["fingering"].points == points


@pytest.mark.parametrize(
    ("names", "points"),
    [
        # "No repeated chord progressions" to "a lot of repetition of chord progressions".
        (("E", "C", "Em"), 3),
        (("E", "C", "Em", "F", "E"), 2),
        (("E", "C", "E", "C"), 1),
        (("E",) * 4, 0),
    ],
)
def test_repetitiveness(names: tuple[str, ...], points: int) -> None:
    """Repetition makes it easier."""
    assert _points(_song(*names))["repetition"].points == points


@pytest.mark.parametrize(
    ("names", "points"),
    [
        # "For the chords all strings are strummed".
        (("E", "Em"), 0),
        # "For some of the chords one or more outer strings are not strummed".
        (("E", "C"), 1),
        # "For some chords one inner string is not strummed".
        (("E", "shell"), 2),
    ],
)
def test_right_hand(names: tuple[str, ...], points: int) -> None:
    """Strings that are left out, outer ones first."""
    assert _points(_song(*names))["right hand"].points == points


@pytest.mark.parametrize(("tempo", "points"), [(60.0, 0), (180.0, 1), (300.0, 2), (600.0, 3)])
def test_change_time(tempo: float, points: int) -> None:
    """From "very slow chord transitions" to "very quick" ones: a measure lasts 4 s to 0.4 s."""
    assert _points(_song("E", "C"), tempo=tempo)["change time"].points == points


def test_easy_song_scores_less_than_a_hard_one() -> None:
    """The weighted sum orders a song of open chords before one of uncommon ones."""
    easy = weighted(tuple(_points(_song("Em", "E", "Em", "E")).values()))
    hard = weighted(tuple(_points(_song("Eb7#9", "Bm", "B7", "F"), tempo=300).values()))
    assert 0 <= easy < hard <= 1


@pytest.mark.parametrize(
    ("size", "stretch_mm"),
    [("full", 97.6), ("3/4", 86.8), ("1/2", 78.4), ("1/4", 72.7)],
)
def test_stretch_on_children_guitars(size: str, stretch_mm: float) -> None:
    """Frets 1 to 4 in millimetres on each size; the check takes the scale length of the part."""
    from dataclasses import replace

    score = placed("F2+C#3:w", "6:1/1", "5:4/4")
    part = score.parts[0]
    assert part.instrument is not None
    length = replace(part.instrument, scale_length_mm=SCALE_LENGTHS_MM[size])
    shorter = replace(score, parts=(replace(part, instrument=length),))
    share = stretch_mm / Hand.of("medium").limit_mm(1, 4)
    assert not meets(shorter, level(stretch=share + 0.001))
    assert [one.limit for one in meets(shorter, level(stretch=share - 0.001))] == ["stretch"]
