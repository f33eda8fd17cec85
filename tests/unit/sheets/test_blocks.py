"""Widths that are measured in blocks are those of one endless line, so that pages stay the same."""

from __future__ import annotations

import importlib
from dataclasses import replace
from pathlib import Path

import pytest

from variants.musicxml import read
from variants.score import Part, Score, with_parts
from variants.sheets import engrave, ready

_SAMPLES = sorted((Path(__file__).parents[3] / "samples").glob("*.musicxml"))
_MEASURES = 26
# Two measures before a break and two after it must be between it and the next.
_SMALLEST = 4


def _long(part: Part) -> Part:
    """Return a part that goes on from its end at its beginning: keys and metres change there."""
    count = -(-_MEASURES // len(part.measures))
    numbered = (
        replace(one, number=str(number)) for number, one in enumerate(part.measures * count, 1)
    )
    return replace(part, measures=tuple(numbered)[:_MEASURES])


def _lines(score: Score) -> list[str]:
    return [one.svg for one in engrave(score, most_measures=0).systems]


@pytest.mark.parametrize("path", _SAMPLES, ids=lambda path: path.stem)
def test_blocks_change_nothing(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A piece that is measured in the smallest blocks gets the lines of one that is not."""
    score = ready(read(path), staves="source")
    score = with_parts(score, [_long(part) for part in score.parts])
    module = importlib.import_module("variants.sheets.engrave")
    monkeypatch.setattr(module, "_BLOCK", _SMALLEST)
    found = _lines(score)
    monkeypatch.setattr(module, "_BLOCK", 10 * _MEASURES)
    assert found == _lines(score)
