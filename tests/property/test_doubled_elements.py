"""Whatever a source says twice, what is written is valid against the W3C schema.

Each kind of element that the sources have is doubled in its place, one at a time. A file that is
then no score is refused; what is read is written, and the schema has nothing against it.
"""

from __future__ import annotations

from copy import deepcopy

import pytest
from lxml import etree

from tests.property.test_steps_are_proofread import SOURCES
from tests.xsd import validate
from variants.errors import NeckwiseError
from variants.musicxml import read_bytes, to_bytes

NAMES = sorted(SOURCES)


def kinds(data: bytes) -> list[str]:
    """Return the names of the elements of a file, without those that a score has many of."""
    found = {str(one.tag) for one in etree.fromstring(data).iter("*")}
    return sorted(found - {"score-partwise", "part", "measure"})


def doubled(data: bytes, name: str) -> bytes:
    """Return the file with the first element of a name standing twice."""
    root = etree.fromstring(data)
    found = next(root.iter(name))
    found.addnext(deepcopy(found))
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


@pytest.mark.parametrize("name", NAMES)
def test_what_stands_twice_is_written_once_or_rightly(name: str) -> None:
    """No doubled element leads to a file that breaks the schema."""
    data = SOURCES[name]
    broken, read = {}, 0
    for kind in kinds(data):
        try:
            score = read_bytes(doubled(data, kind))
        except NeckwiseError:
            continue
        read += 1
        faults = validate(to_bytes(score))
        if faults:
            broken[kind] = faults[0]
    assert broken == {}
    # Most elements may stand twice without making the file unreadable.
    assert read > len(kinds(data)) // 2
