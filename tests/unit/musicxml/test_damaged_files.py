"""Whatever is done to a file, it is read or refused in one line; what is read can be written."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.musicxml.mutation import mutated
from variants.errors import InputError, NeckwiseError, OutputError
from variants.musicxml import Staves, read_bytes, to_bytes
from variants.pipeline import run
from variants.steps import parse_step

SAMPLES = sorted((Path(__file__).parents[3] / "samples").glob("*.musicxml"))
DATA = Path(__file__).parents[2] / "data" / "musicxml"
FILES = [*SAMPLES, *sorted(DATA.glob("*.musicxml"))]
CASES_IN_A_ROW = 30


def _faults(data: bytes) -> list[NeckwiseError]:
    """Take a file the whole way in every layout and return what was refused on it."""
    try:
        score = read_bytes(data)
    except InputError as error:
        return [error]
    faults: list[NeckwiseError] = []
    for staves in Staves:
        try:
            written = to_bytes(score, staves=staves)
        except OutputError as error:
            faults.append(error)
        else:
            assert read_bytes(written, reading="concert").parts
    try:
        run(score, [parse_step("transpose:interval=m3")])
    except NeckwiseError as error:
        faults.append(error)
    return faults


@pytest.mark.parametrize("start", range(0, 300, CASES_IN_A_ROW))
def test_damaged_files_are_read_or_refused(start: int) -> None:
    """300 damaged files, always the same ones: no error that is not ours, no line without help."""
    for seed in range(start, start + CASES_IN_A_ROW):
        for fault in _faults(mutated(FILES[seed % len(FILES)].read_bytes(), seed)):
            assert "\n" not in str(fault), seed
            assert fault.way_out, seed


def test_damage_is_of_both_kinds() -> None:
    """Some of the damaged files can still be read, some cannot: the test above tests both."""
    refused = [bool(_faults(mutated(SAMPLES[0].read_bytes(), seed))) for seed in range(20)]
    assert 3 < sum(refused) < 17


def test_the_same_seed_gives_the_same_damage() -> None:
    """A failing case can be looked at again by its number."""
    data = SAMPLES[0].read_bytes()
    assert mutated(data, 5) == mutated(data, 5) != mutated(data, 6)
