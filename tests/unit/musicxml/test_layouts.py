"""Whatever staves a part is written on, it is read back with its strings and its capo."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from tests.strategies import line
from variants.musicxml import Reading, read, read_bytes, to_bytes
from variants.prepare import Strings, prepare
from variants.score import Extra, Part, Score, with_parts

ROOT = Path(__file__).parents[3]
SAMPLES = sorted((ROOT / "samples").rglob("*.musicxml"))
STRINGS = [
    Strings(),
    Strings(tuning="drop-d"),
    Strings(capo=3),
    Strings(tuning="G4-C4-E4-A4"),
    Strings(tuning="E1-A1-D2-G2", capo=0),
]
_VOICE = (
    Extra(
        "score-instrument",
        '<score-instrument id="P1-I1"><instrument-name>Alto</instrument-name></score-instrument>',
    ),
    Extra(
        "midi-instrument",
        '<midi-instrument id="P1-I1"><midi-program>53</midi-program></midi-instrument>',
    ),
)


def sung(program: int = 0, carried: tuple[Extra, ...] = ()) -> Score:
    """Return a score of a part that is for no guitar, as far as its file says."""
    score = line("E4 G4 C5 E5", instrument=None)
    part = replace(score.parts[0], name="Alto", midi_program=program, carried=carried)
    return with_parts(score, [part])


def _strings(part: Part) -> tuple[tuple[int, ...], int] | None:
    one = part.instrument
    return None if one is None else (one.open_midi, one.capo)


def assert_read_back(score: Score) -> None:
    """Assert that every layout, with and without places, tells the strings."""
    for staves in ("source", "notation", "tab", "both"):
        for places in (False, True):
            back = read_bytes(to_bytes(score, staves=staves, places=places))
            told = [_strings(part) for part in back.parts]
            assert told == [_strings(part) for part in score.parts], (staves, places)


@pytest.mark.parametrize("strings", STRINGS, ids=str)
@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples(path: Path, strings: Strings) -> None:
    """All of our samples on all instruments; a sung part among them is one for the player."""
    score = read(path)
    for part in score.parts:
        assert_read_back(prepare(with_parts(score, [part]), Reading.AUTO, strings))
    assert_read_back(prepare(score, Reading.AUTO, strings))


@pytest.mark.parametrize("strings", STRINGS, ids=str)
@pytest.mark.parametrize("score", [sung(), sung(program=74), sung(carried=_VOICE)])
def test_part_for_another(score: Score, strings: Strings) -> None:
    """A part that its file gives to a voice or to a flute is played on a guitar all the same."""
    assert_read_back(prepare(score, Reading.AUTO, strings))
