"""The samples are right before anything is made of them, by lxml and the schema alone."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import pytest
from lxml import etree

from tests.xsd import validate

FOLDER = Path(__file__).parents[2] / "samples"
# Quarters in a note value.
QUARTERS = {
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
}
SAMPLES = sorted(FOLDER.glob("*.musicxml"))


def _root(path: Path) -> etree._Element:
    return etree.fromstring(path.read_bytes())


def _number(element: etree._Element, path: str) -> int:
    return int(element.findtext(path) or 0)


def _lengths(part: etree._Element) -> Iterator[tuple[etree._Element, dict[str, int], int]]:
    """Yield each measure, the ticks that each of its voices fills, and the ticks it should have."""
    full = 0
    for measure in part.findall("measure"):
        if measure.find("attributes/time") is not None:
            whole = 4 * _number(measure, "attributes/divisions")
            beats = _number(measure, "attributes/time/beats")
            full = whole * beats // _number(measure, "attributes/time/beat-type")
        filled: dict[str, int] = {}
        for note in measure.findall("note"):
            if note.find("chord") is None:
                voice = note.findtext("voice") or ""
                filled[voice] = filled.get(voice, 0) + _number(note, "duration")
        yield measure, filled, full


def test_there_are_enough() -> None:
    """Riff, melody, lead sheet, study, 6/8 tune, and more."""
    assert len(SAMPLES) >= 6


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_valid(path: Path) -> None:
    """The W3C MusicXML 4.0 schema has no fault to find."""
    assert validate(path.read_bytes()) == []


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_measures_are_full(path: Path) -> None:
    """Every voice fills its measure; a pick-up and the last measure make one together."""
    for part in _root(path).findall("part"):
        rows = list(_lengths(part))
        first, last = rows[0], rows[-1]
        for measure, filled, full in rows:
            is_pickup = measure.get("implicit") == "yes"
            if is_pickup or (measure is last[0] and first[0].get("implicit") == "yes"):
                assert first[1]["1"] + last[1]["1"] == full
            else:
                assert set(filled.values()) == {full}, measure.get("number")


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_types_make_the_durations(path: Path) -> None:
    """Note type, dots and tuplet come to the duration that is written."""
    for part in _root(path).findall("part"):
        divisions = _number(part, "measure/attributes/divisions")
        for note in part.iter("note"):
            value = QUARTERS[note.findtext("type") or ""]
            value *= 2 - Fraction(1, 2 ** len(note.findall("dot")))
            if note.find("time-modification") is not None:
                value *= _number(note, "time-modification/normal-notes")
                value /= _number(note, "time-modification/actual-notes")
            assert value * divisions == _number(note, "duration")


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_named_and_licensed(path: Path) -> None:
    """Each has a title, somebody who made it, a rights line, and a row in the table."""
    root = _root(path)
    assert root.findtext("work/work-title")
    assert root.findtext("identification/creator")
    assert "CC0 1.0" in (root.findtext("identification/rights") or "")
    assert f"`{path.name}`" in (FOLDER / "README.md").read_text(encoding="utf-8")


def test_riff_has_two_homes() -> None:
    """Every dyad of the riff is a fifth that no string limits: its root is A2 or higher.

    Below A2 it could not be played at fret 5 of the sixth string, nor turned down a fourth.
    """
    letters = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
    midi = [
        12 * (_number(pitch, "octave") + 1) + letters[pitch.findtext("step") or ""]
        for pitch in _root(FOLDER / "harbour-riff.musicxml").iter("pitch")
    ]
    roots, fifths = midi[::2], midi[1::2]
    assert [high - low for low, high in zip(roots, fifths, strict=True)] == [7] * len(roots)
    assert min(roots) == 45
