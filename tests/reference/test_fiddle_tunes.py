"""Fiddle tunes in ABC, read through music21, varied and fingered: a sample of benchmarks/abc.py.

The tunes are O'Neill's (1903, 1907), Ryan's (1883) and Aird's (1782 to 1801), as music21 has them.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from benchmarks.abc import report
from tests.oracles.fiddle_tunes import COLLECTIONS, Sweep, all_tunes, examine

SAMPLE = list(all_tunes(400))


def test_there_are_thousands() -> None:
    """The three collections hold some four thousand tunes."""
    assert sum(1 for _ in all_tunes(1)) > 4000
    assert {path.parent.name for path, _ in SAMPLE} == set(COLLECTIONS)


@pytest.mark.parametrize(("path", "index"), SAMPLE, ids=lambda one: getattr(one, "stem", str(one)))
def test_a_tune_goes_the_whole_way(path: Path, index: int) -> None:
    """No traceback, no broken contract, valid output; a refusal is one line with a way out."""
    found = examine(path, index)
    assert found.faults == []
    assert found.done["read"] + found.refused.total() >= 1


def test_the_table_tells_refusals() -> None:
    """Refusals stand in the table with their cause and their number."""
    total = Sweep()
    total.refused["single-string", "two notes cannot sound on one string"] += 3
    assert "| single-string | two notes cannot sound on one string | 3 |" in report(
        total, seconds=1
    )
