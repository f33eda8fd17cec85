"""Every element of the standard has a row in the documentation, and the row is true.

The lists of elements are those of the W3C MusicXML 4.0 schema (see `tests.xsd`).
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from tests.elements import PARENTS, children_of, sample, score_with
from tests.oracles.census import census, lost
from tests.oracles.grammar import TABLE, grammar_text
from tests.xsd import validate
from variants.musicxml import read_bytes, to_bytes

PAGE = Path(__file__).parents[2] / "docs" / "musicxml.md"
KINDS = {"modelled", "carried", "logged"}
ELEMENTS = [(parent, name) for parent in PARENTS for name in children_of(parent)]
# What staves that are laid out anew replace; the rows of `attributes` say so.
_RELAID = frozenset({"attributes/clef"})


@cache
def rows() -> dict[tuple[str, str], str]:
    """Return what the page says becomes of each element, by its parent and name."""
    found, parent = {}, ""
    for line in PAGE.read_text(encoding="utf-8").splitlines():
        head = re.match(r"## Children of `(.+)`", line)
        row = re.match(r"\| `(.+?)` \| (\w+) \|", line)
        if line.startswith("## "):
            parent = head.group(1) if head else ""
        elif row and parent:
            found[parent, row.group(1)] = row.group(2)
    return found


def test_every_element_has_a_row() -> None:
    """The page has just the rows that the schema has elements, each with one of three answers."""
    assert list(rows()) == ELEMENTS
    assert set(rows().values()) <= KINDS


def test_the_schema_has_these_lists() -> None:
    """MusicXML 4.0 gives 31 elements to technical and 24 to direction-type (W3C schema)."""
    assert (len(children_of("technical")), len(children_of("direction-type"))) == (31, 24)
    assert len(ELEMENTS) == 164


def test_the_table_of_the_reader_is_that_of_the_schema() -> None:
    """The table against which carried pieces are checked is what the schema gives today."""
    assert TABLE.read_text(encoding="utf-8") == grammar_text()


@pytest.mark.parametrize(("parent", "name"), ELEMENTS)
def test_the_row_is_true(parent: str, name: str) -> None:
    """A valid score with the element: written again it is valid and says the same, or the log."""
    source = score_with(parent, name)
    assert validate(source) == []
    assert any(f"{name}" in fact.path for fact in census(source)) or name in _WITHOUT_FACT
    _check(source, parent, name, staves="source")
    if parent != "attributes":
        _check(source, parent, name, staves="both")


# Read through other facts: the moment, the length, the owner, the tie of a note.
_WITHOUT_FACT = {"chord", "pitch", "duration", "voice", "staff", "cue", "divisions", "offset",
                 "notations", "tied", "technical", "articulations", "ornaments"}  # fmt: skip


def _check(source: bytes, parent: str, name: str, *, staves: str) -> None:
    score = read_bytes(source)
    written = to_bytes(score, staves=staves)
    assert validate(written) == []
    missing = [f for f in lost(census(source), census(written)) if f.path not in _RELAID]
    told = " ".join(map(str, score.changes))
    if rows()[parent, name] == "logged":
        assert missing
        assert name in told
    else:
        assert missing == []


@pytest.mark.parametrize(
    ("parent", "name"), [one for one in ELEMENTS if rows().get(one) == "carried"]
)
def test_what_is_carried_keeps_all_its_attributes(parent: str, name: str) -> None:
    """With every attribute that the schema lets it have, a carried element comes back whole."""
    source = score_with(parent, name, full=True)
    assert validate(source) == []
    _check(source, parent, name, staves="source")


def test_full_samples_are_fuller() -> None:
    """The samples with all attributes have more of them: the test above tests something."""
    plain, full = sample("notations", "slur"), sample("notations", "slur", full=True)
    assert len(plain.attrib) == 1 < len(full.attrib)


def test_a_lost_thing_is_seen() -> None:
    """The comparison finds a slur that is taken away, and one that moves to another note."""
    source = score_with("notations", "slur")
    assert lost(census(source), census(source.replace(b"<slur", b"<tuplet"))) != []
    moved = re.sub(rb"<notations>.*?</notations>", b"", source).replace(
        b"<type>quarter</type></note></measure>",
        b'<type>quarter</type><notations><slur type="start"/></notations></note></measure>',
    )
    assert lost(census(source), census(moved)) != []
