"""The schema helper itself: it must be able to say no."""

from __future__ import annotations

import re

import pytest

from tests.xsd import validate

SCORE = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0">
  <part-list><score-part id="P1"><part-name>Guitar</part-name></score-part></part-list>
  <part id="P1">
    <measure number="1">
      <attributes><divisions>1</divisions></attributes>
      <direction><direction-type><words xml:lang="">Riff</words></direction-type></direction>
      <note>{pitch}<duration>1</duration>{rest}</note>
    </measure>
  </part>
</score-partwise>
"""
PITCH = "<pitch><step>E</step><octave>4</octave></pitch>"


def test_valid_document() -> None:
    """A small right score has no faults."""
    assert validate(SCORE.format(pitch=PITCH, rest="<type>quarter</type>").encode()) == []


@pytest.mark.parametrize(
    ("pitch", "rest", "fault"),
    [
        (PITCH, "<type>quater</type>", "line 8: .*quater"),
        (PITCH, "<dot/><type>quarter</type>", "line 8: .*type"),
        ("<pitch><step>H</step><octave>4</octave></pitch>", "", "line 8: .*'H'"),
        (PITCH, "<notations><technical><string>0</string></technical></notations>", "string"),
        ('<rest xml:space="maybe"/>', "", "space"),
    ],
)
def test_faults_are_found(pitch: str, rest: str, fault: str) -> None:
    """Wrong values, order and attributes are each reported with their line."""
    faults = validate(SCORE.format(pitch=pitch, rest=rest).encode())
    assert re.search(fault, "\n".join(faults))


def test_link_is_checked_by_the_stub() -> None:
    """The xlink stub lets a link through and stops one that is none."""
    link = '<link xmlns:xlink="http://www.w3.org/1999/xlink" xlink:href="b.xml" xlink:show="{}"/>'
    score = SCORE.format(pitch=PITCH, rest="").replace("      <note>", f"      {link}<note>")
    assert validate(score.format("new").encode()) == []
    assert any("show" in fault for fault in validate(score.format("sometimes").encode()))


@pytest.mark.parametrize("document", [b"", b"MThd", b"<score-partwise>", b"\xff\xfe"])
def test_not_xml(document: bytes) -> None:
    """What is no XML is a fault too, not an exception."""
    (fault,) = validate(document)
    assert fault.startswith("not well-formed")
