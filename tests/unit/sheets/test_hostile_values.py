"""Values that end the engraver's process are taken out before it sees them.

The places were found by putting long, huge and odd values into every field of some 160 scores (the
feature files of MusicXML among them), one at a time, and handing them to the engraver alone: it
ended at these, or did not end. All of them are tried in one process apart, which must live.
"""

from __future__ import annotations

import subprocess
import sys

import pytest
from lxml import etree

from variants.sheets.engrave import engraver
from variants.sheets.rewriting import bound, rename_parts
from variants.sheets.style import print_named

_VALUES = ("9" * 400, "2147483648", "-99999", "99999", "0", "", "nan", "1e999", "zzz", "x" * 10_000)
_LIST = ",".join(map(str, range(1, 1000)))
# A path, and an attribute or none for the text.
_PLACES = (
    (".//attributes/staves", ""),
    (".//attributes/time/beat-type", ""),
    (".//staff-details/staff-lines", ""),
    (".//note/staff", ""),
    (".//technical/string", ""),
    (".//degree/degree-value", ""),
    (".//rest/display-octave", ""),
    (".//unpitched/display-octave", ""),
    (".//metronome/per-minute", ""),
    (".//barline/ending", "number"),
    (".//barline/repeat", "times"),
    (".//score-part", "id"),
    (".//part-group", "type"),
)
_SCORE = """<score-partwise version="4.0"><part-list><part-group type="start" number="1"/>
<score-part id="P1"><part-name/></score-part><part-group type="stop" number="1"/></part-list>
<part id="P1"><measure number="1"><barline location="left"><ending number="1" type="start"/>
</barline><attributes><divisions>1</divisions><key><fifths>0</fifths></key>
<time><beats>4</beats><beat-type>4</beat-type></time><staves>2</staves>
<clef number="1"><sign>G</sign><line>2</line></clef>
<clef number="2"><sign>TAB</sign><line>5</line></clef>
<staff-details number="2"><staff-lines>6</staff-lines></staff-details></attributes>
<direction><direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>90</per-minute>
</metronome></direction-type><staff>1</staff></direction>
<harmony><root><root-step>C</root-step></root><kind>dominant</kind><degree>
<degree-value>9</degree-value><degree-alter>0</degree-alter><degree-type>add</degree-type></degree>
</harmony>
<note><rest><display-step>B</display-step><display-octave>4</display-octave></rest>
<duration>2</duration><type>half</type><staff>1</staff></note>
<note><unpitched><display-step>E</display-step><display-octave>4</display-octave></unpitched>
<duration>2</duration><type>half</type><staff>1</staff></note><backup><duration>4</duration></backup>
<note><pitch><step>C</step><octave>3</octave></pitch><duration>4</duration><voice>5</voice>
<type>whole</type><staff>2</staff><notations><technical><string>5</string><fret>3</fret>
</technical></notations></note><barline location="right"><ending number="1" type="stop"/>
<repeat direction="backward" times="2"/></barline></measure></part></score-partwise>"""
_MANY_S = 120


def _all_engraved() -> None:
    """Engrave the score with each value at each place, and say first what is tried."""
    for path, attribute in _PLACES:
        for value in (*_VALUES, _LIST):
            tree = etree.fromstring(_SCORE)
            for element in tree.iterfind(path):
                if attribute:
                    element.set(attribute, value)
                else:
                    element.text = value
            sys.stdout.write(f"{path} {attribute} {value[:20]!r}\n")
            sys.stdout.flush()
            rename_parts(tree)
            for measure in tree.iterfind("part/measure"):
                list(bound(measure))
            toolkit = engraver(print_named("normal"))
            toolkit.loadData(etree.tostring(tree, encoding="unicode"))
            toolkit.renderToSVG(1)
    sys.stdout.write("all\n")


def test_no_value_ends_the_engraver() -> None:
    """The process that engraves all of them lives until the last."""
    code = f"from {__name__} import _all_engraved; _all_engraved()"
    done = subprocess.run(  # noqa: S603 - our own words
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=_MANY_S, check=False
    )
    lines = done.stdout.split("\n")
    assert (done.returncode, lines[-2]) == (0, "all"), lines[-2]


@pytest.mark.parametrize(
    ("xml", "told"),
    [
        (f'<barline><ending number="{_LIST}" type="start"/></barline>', ["list of endings"]),
        ('<barline><ending number="1, 2" type="start"/></barline>', []),
        ("<note><technical><string>100</string></technical></note>", ["string"]),
        ("<direction-type><metronome><per-minute>1e999</per-minute></metronome></direction-type>",
            ["metronome"],
        ),
        ("<direction-type><metronome><per-minute>c. 108</per-minute></metronome></direction-type>",
         []),
    ],
)  # fmt: skip
def test_what_is_taken_is_told(xml: str, told: list[str]) -> None:
    """What is in its range stays as it is; what is not goes, and its name is told."""
    measure = etree.fromstring(f"<measure>{xml}</measure>")
    before = etree.tostring(measure)
    assert list(bound(measure)) == told
    assert (etree.tostring(measure) == before) is (told == [])
