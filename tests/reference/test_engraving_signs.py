"""Every sign of MusicXML that a note can carry reaches the paper, or a line of the log says not.

The source is MusicXML 4.0 itself: the children of `technical`, `articulations` and `ornaments`
and the direction types are read from its schema (the PyPI package `musicxml` carries it). Each is
written alone into a measure, engraved, and compared with the measure without it.
"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import musicxml
import pytest
from lxml import etree

from variants.musicxml import read_bytes
from variants.sheets import Engraving, engrave
from variants.sheets.signs import IN_TAB, PLACES

XS = "{http://www.w3.org/2001/XMLSchema}"
# What a group needs inside to be valid; all others may be empty.
INSIDE = {
    "harmonic": "<natural/>",
    "bend": "<bend-alter>2</bend-alter>",
    "hole": "<hole-closed>yes</hole-closed>",
    "arrow": "<arrow-direction>up</arrow-direction>",
    "tremolo": "3",
    "pluck": "p",
    "fingering": "2",
    "string": "4",
    "fret": "2",
    "tap": "T",
    "handbell": "belltree",
    "harmon-mute": "<harmon-closed>yes</harmon-closed>",
    "other-technical": "rasg.",
    "accidental-mark": "sharp",
    "other-articulation": "dry",
    "other-ornament": "free",
    "metronome": "<beat-unit>quarter</beat-unit><per-minute>60</per-minute>",
    "words": "slowly",
    "rehearsal": "A",
    "symbol": "coda",
    "dynamics": "<f/>",
    "other-direction": "again",
    "scordatura": '<accord string="6"><tuning-step>D</tuning-step>'
    "<tuning-octave>2</tuning-octave></accord>",
    "harp-pedals": "<pedal-tuning><pedal-step>D</pedal-step><pedal-alter>0</pedal-alter>"
    "</pedal-tuning>",
    "percussion": "<stick><stick-type>yarn</stick-type><stick-material>soft</stick-material>"
    "</stick>",
    "accordion-registration": "<accordion-high/>",
}
TYPED = {
    "hammer-on": ' type="start" number="1"',
    "pull-off": ' type="start" number="1"',
    "wavy-line": ' type="start" number="1"',
    "string-mute": ' type="on"',
    "image": ' source="a.png" type="image/png"',
    "principal-voice": ' type="start" symbol="none"',
    "staff-divide": ' type="down"',
}
# Direction types that have two ends.
SPANS = {
    "wedge": (' type="crescendo"', ' type="stop"'),
    "dashes": (' type="start"', ' type="stop"'),
    "bracket": (' type="start" line-end="none"', ' type="stop" line-end="none"'),
    "pedal": (' type="start" sign="yes" line="no"', ' type="stop"'),
    "octave-shift": (' type="down" size="8"', ' type="stop" size="8"'),
}


@lru_cache(maxsize=1)
def _schema() -> etree._Element:
    folder = Path(str(musicxml.__file__)).parent
    path = next(folder.rglob("musicxml*4*0*.xsd"), None) or next(folder.rglob("*.xsd"))
    return etree.parse(str(path)).getroot()


def _children(kind: str) -> list[str]:
    """Return the elements that a complex type of the schema names."""
    for one in _schema().findall(f"{XS}complexType"):
        if one.get("name") == kind:
            return [str(e.get("name")) for e in one.iter(f"{XS}element")]
    raise AssertionError(kind)


def _document(*, mark: str = "", before: str = "", after: str = "", staves: str) -> bytes:
    notations = f"<notations>{mark}</notations>" if mark else ""
    tab = "<technical><string>4</string><fret>2</fret></technical>"
    if mark.startswith("<technical>"):
        notations = notations.replace(
            "</technical>", "<string>4</string><fret>2</fret></technical>"
        )
    elif mark:
        notations = notations.replace("</notations>", f"{tab}</notations>")
    else:
        notations = f"<notations>{tab}</notations>"
    note = (
        "<note><pitch><step>E</step><octave>3</octave></pitch><duration>1</duration><voice>1</voice>"
        "<type>quarter</type>{}</note>"
    )
    plain = note.format(f"<notations>{tab}</notations>")
    notes = before + note.format(notations) + after + plain * 3
    return (
        '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Guitar</part-name>'
        '</score-part></part-list><part id="P1"><measure number="1"><attributes><divisions>1'
        "</divisions><key><fifths>0</fifths></key><time><beats>4</beats><beat-type>4</beat-type>"
        "</time><clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change>"
        f"</clef></attributes>{notes}</measure></part></score-partwise>"
    ).encode()


def _engraved(document: bytes, staves: str) -> Engraving:
    return engrave(read_bytes(document), staves=staves)


def _shapes(engraving: Engraving) -> int:
    """Return how many shapes are drawn: letters, signs, lines, filled outlines."""
    names = ("text", "use", "path", "polyline", "polygon", "rect", "circle", "ellipse")
    count = 0
    for system in engraving.systems:
        root = etree.fromstring(system.svg.encode())
        for name in names:
            count += sum(
                1
                for shape in root.iter("{http://www.w3.org/2000/svg}" + name)
                if not any(a.tag.endswith("defs") for a in shape.iterancestors())
            )
    return count


@lru_cache(maxsize=8)
def _plain(staves: str) -> int:
    return _shapes(_engraved(_document(staves=staves), staves))


def _element(name: str, extra: str = "") -> str:
    return f"<{name}{extra or TYPED.get(name, '')}>{INSIDE.get(name, '')}</{name}>"


NOTE_SIGNS = [
    (group, name)
    for group in ("technical", "articulations", "ornaments")
    for name in _children(group)
    if name not in PLACES
]


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
def test_an_accidental_over_a_note(staves: str) -> None:
    """An accidental that stands over a note without an ornament is drawn there."""
    document = _document(mark="<accidental-mark>sharp</accidental-mark>", staves=staves)
    (system,) = _engraved(document, staves).systems
    assert [one.text for one in system.letters if one.text == "♯"] == ["♯"]


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
@pytest.mark.parametrize(("group", "name"), NOTE_SIGNS, ids=str)
def test_sign_of_a_note(group: str, name: str, staves: str) -> None:
    """A sign of a note adds shapes to the drawing, or a line to the log that names it."""
    document = _document(mark=f"<{group}>{_element(name)}</{group}>", staves=staves)
    engraving = _engraved(document, staves)
    drawn = _shapes(engraving) != _plain(staves)
    told = any(name.replace("-", " ") in change.message for change in engraving.log)
    # One that belongs to an ornament and has none is left out by the reader, which says so.
    read = read_bytes(document).changes if name == "accidental-mark" else ()
    told |= any("accidental" in change.message for change in read)
    # A hammer-on with one end only has nothing to join in the tab.
    joins = name in IN_TAB and name in ("hammer-on", "pull-off") and staves != "notation"
    # A harmonic puts the number that is there in brackets.
    bracketed = name == "harmonic" and staves == "tab" and "‹" in engraving.systems[0].svg
    assert drawn or told or joins or bracketed


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
@pytest.mark.parametrize("name", _children("direction-type"))
def test_direction(name: str, staves: str) -> None:
    """A direction adds shapes to the drawing, or a line to the log that names it."""
    start, stop = SPANS.get(name, ("", ""))
    frame = "<direction><direction-type>{}</direction-type></direction>"
    before = frame.format(_element(name, start))
    after = frame.format(_element(name, stop)) if stop else ""
    document = _document(before=before, after=after, staves=staves)
    engraving = _engraved(document, staves)
    drawn = _shapes(engraving) != _plain(staves)
    told = any(name.replace("-", " ") in change.message for change in engraving.log)
    assert drawn or told


@pytest.mark.parametrize("kind", ["slide", "hammer-on", "pull-off"])
@pytest.mark.parametrize("staves", ["tab", "both"])
def test_links_in_the_tab(kind: str, staves: str) -> None:
    """A technique that joins two frets is drawn between them in the tab."""
    ends = [f'<{kind} type="{role}" number="1">x</{kind}>' for role in ("start", "stop")]
    if kind != "slide":
        ends = [f"<technical>{one}</technical>" for one in ends]
    document = _document(mark=ends[0], staves=staves).decode()
    tab = "<notations><technical><string>4</string><fret>2</fret></technical></notations>"
    joined = ends[1].replace("</technical>", "<string>4</string><fret>2</fret></technical>")
    if kind == "slide":
        joined += "<technical><string>4</string><fret>2</fret></technical>"
    document = document.replace(tab, f"<notations>{joined}</notations>", 1)
    engraving = _engraved(document.encode(), staves)
    assert _shapes(engraving) > _plain(staves)
    shown = [letter.text for letter in engraving.systems[0].letters]
    assert ("H" in shown) == (kind == "hammer-on")
    assert ("P" in shown) == (kind == "pull-off")


def test_a_note_without_a_place() -> None:
    """A note without a place stays out of the tab, and the log says in which measure."""
    document = _document(staves="both").decode().replace("<fret>2</fret>", "", 1)
    document = document.replace("<string>4</string>", "", 1)
    engraving = _engraved(document.encode(), "both")
    assert [str(change) for change in engraving.log] == [
        "measure 1: a note has no place on the neck and is not in the tab"
    ]
    assert len([x for x in engraving.systems[0].letters if x.kind == "fret"]) == 3
