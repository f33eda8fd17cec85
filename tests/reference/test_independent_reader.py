"""What is written, as music21 reads it: a reader that shares no code with ours.

Source: the PyPI package ``music21``, used only here and in `benchmarks` as a second opinion on
pitches, onsets, ties, lengths, strings, frets, fingers and the names of transposed notes.
"""

from __future__ import annotations

import warnings
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from tests.oracles.independent import difference, heard_by_music21, heard_in_score, transposed
from tests.oracles.sweep import INTERVALS
from tests.reference.test_schema import for_guitar
from variants.finish import finish
from variants.music import Interval
from variants.musicxml import read, to_bytes
from variants.pipeline import run
from variants.score import notes
from variants.steps.transpose import Transpose

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.musicxml"))
each_sample = pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)


@each_sample
def test_music21_hears_what_we_read(path: Path) -> None:
    """Pitches, onsets, ties and lengths of our samples, from the file and from our score."""
    score = read(path, reading="concert")
    theirs, ours = heard_by_music21(path), heard_in_score(score)
    assert len(theirs) == len(ours)
    assert [difference(one, other) for one, other in zip(theirs, ours, strict=True)] == [
        "" for _ in ours
    ]


@each_sample
@pytest.mark.parametrize("staves", ["source", "notation", "tab"])
def test_music21_hears_what_we_write(path: Path, staves: str) -> None:
    """The same from what we write, in each layout of one staff."""
    score = read(path)
    theirs = heard_by_music21(to_bytes(score, staves=staves))
    for one, other in zip(theirs, heard_in_score(score), strict=True):
        assert difference(one, other) == ""


@each_sample
def test_transposed_names(path: Path) -> None:
    """Each named interval from a fifth down to a fifth up, note by note, as music21 spells it."""
    score = read(path, reading="concert")
    before = heard_by_music21(path)
    for name in INTERVALS:
        outcome = run(score, [Transpose(interval=Interval.parse(name))])
        assert outcome.interval is not None
        for one, other in zip(before, heard_in_score(outcome.score), strict=True):
            wanted = Counter(
                (index, note[0], *transposed(note[2:5], outcome.interval))
                for index, row in enumerate(one.measures)
                for note in row
            )
            got = Counter(
                (index, note[0], *note[2:5])
                for index, row in enumerate(other.measures)
                for note in row
            )
            assert wanted == got, name


@each_sample
def test_music21_sees_strings_frets_and_fingers(path: Path) -> None:
    """Every place stands on the tab staff, every finger on the notation staff, once."""
    score = finish(for_guitar(read(path)), marks="fingering").score
    places = Counter(
        (str(note.place.string), str(note.place.fret))
        for part in score.parts
        for note in notes(part)
        if note.place is not None
    )
    fingers = Counter(note.finger for part in score.parts for note in notes(part) if note.finger)
    assert places
    assert fingers
    above, below = _technical(to_bytes(score, staves="both"))
    assert below == places
    assert above == fingers


# music21's class of a sign, and the attribute that holds its number.
_NUMBERS = {"Fingering": "fingerNumber", "StringIndication": "number", "FretIndication": "number"}


def _technical(data: bytes) -> tuple[Counter[str], Counter[tuple[str, str]]]:
    """Return fingers, and (string, fret) pairs, as music21 finds them on both staves."""
    from music21 import converter

    fingers: Counter[str] = Counter()
    places: Counter[tuple[str, str]] = Counter()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        stream: Any = converter.parseData(data.decode(), format="musicxml")
    for note in stream.recurse().notes:
        found: dict[str, list[str]] = {kind: [] for kind in _NUMBERS}
        for sign in note.articulations:
            kind = type(sign).__name__
            if kind in _NUMBERS:
                found[kind].append(str(getattr(sign, _NUMBERS[kind])))
        fingers.update(found["Fingering"])
        places.update(zip(found["StringIndication"], found["FretIndication"], strict=True))
    return fingers, places
