"""Whatever is done to a file, it is read or refused in one line; what is read is written, valid.

The cases are those of ``benchmarks/fuzz.py``, which runs 20,000 of them.
"""

from __future__ import annotations

import pytest

from tests.oracles.damage import damaged, faults, files
from tests.unit.musicxml.mutation import mutated
from variants.errors import InputError
from variants.musicxml import read_bytes

CASES = 500
CASES_IN_A_ROW = 50


@pytest.mark.parametrize("start", range(0, CASES, CASES_IN_A_ROW))
def test_damaged_files_are_read_or_refused(start: int) -> None:
    """500 damaged files, always the same ones: no error but ours, no output that is not valid."""
    for seed in range(start, start + CASES_IN_A_ROW):
        assert faults(damaged(seed, corpus=False), seed) == [], seed


def test_damage_is_of_both_kinds() -> None:
    """Some of the damaged files can still be read, some cannot: the test above tests both."""
    data = files(corpus=False)[0].read_bytes()
    refused = 0
    for seed in range(20):
        try:
            read_bytes(mutated(data, seed))
        except InputError:
            refused += 1
    assert 3 < refused < 17


def test_compressed_files_are_damaged_too() -> None:
    """Among the cases are .mxl files, whole and damaged."""
    packed = [seed for seed in range(100) if damaged(seed, corpus=False).startswith(b"PK")]
    assert 5 < len(packed) < 40


def test_the_same_seed_gives_the_same_damage() -> None:
    """A failing case can be looked at again by its number."""
    data = files(corpus=False)[0].read_bytes()
    assert mutated(data, 5) == mutated(data, 5) != mutated(data, 6)
