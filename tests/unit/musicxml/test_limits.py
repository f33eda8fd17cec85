"""Limits stand in one place, and the documentation tells them as they are."""

from __future__ import annotations

import re
from dataclasses import asdict
from pathlib import Path

import pytest

from tests.unit.musicxml.test_bad_input import score
from variants.errors import InputError, UsageError
from variants.limits import parse_limits
from variants.musicxml import LIMITS, FileLimits, read_bytes

PAGE = Path(__file__).parents[3] / "docs" / "limits.md"


def test_the_page_tells_each_limit() -> None:
    """The table has every limit with its value, and no other."""
    rows = re.findall(r"^\| `(\w+)` \| (\d+) \|", PAGE.read_text(encoding="utf-8"), re.MULTILINE)
    assert {name: int(value) for name, value in rows} == asdict(LIMITS)


def test_limits_from_a_text() -> None:
    """What is named is changed, the rest is as usual."""
    assert parse_limits("") == LIMITS
    assert parse_limits(" notes = 7 ,seconds=8,") == FileLimits(notes=7, seconds=8)


@pytest.mark.parametrize("text", ["note=3", "notes", "notes=", "notes=0", "notes=-3", "notes=٣"])
def test_texts_that_are_no_limits(text: str) -> None:
    """Names that do not exist and values that are no counts are told apart from good ones."""
    with pytest.raises(UsageError):
        parse_limits(text)


@pytest.mark.parametrize(("depth", "levels"), [(12, 30), (256, 300), (400, 500)])
def test_depth(depth: int, levels: int) -> None:
    """XML that nests too deeply is refused, at the usual limit, a lower and a higher one."""
    deep = "<other>" * levels + "</other>" * levels
    with pytest.raises(InputError) as caught:
        read_bytes(score(deep), limits=FileLimits(depth=depth))
    assert caught.value.way_out


def test_a_higher_depth_lets_more_in() -> None:
    """What the usual limit refuses is read when the limit is raised; the log says what it was."""
    deep = "<other>" * 300 + "</other>" * 300
    found = read_bytes(score(deep), limits=FileLimits(depth=1000))
    assert any("<other>" in str(line) for line in found.changes)
