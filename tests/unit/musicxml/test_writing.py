"""What stands in a written file: accidentals, transposition, staves, order, bytes."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from lxml import etree

from tests.strategies import line
from tests.unit.musicxml.test_octaves import part, plain
from tests.xsd import validate
from variants.errors import UsageError
from variants.music import Key, Pitch
from variants.musicxml import read_bytes, to_bytes, to_mxl
from variants.score import (
    Attributes,
    Clef,
    Instrument,
    KeySign,
    Note,
    Score,
    Transposition,
    map_notes,
    notes,
    with_parts,
)
from variants.score.instrument import STANDARD_GUITAR, Place


def accidentals(score: Score) -> list[str]:
    """Return the accidental printed on each note, empty for none."""
    root = etree.fromstring(to_bytes(score))
    return [
        note.findtext("accidental") or ""
        for note in root.iter("note")
        if note.find("pitch") is not None
    ]


def in_key(score: Score, fifths: int) -> Score:
    """Return the score with another key signature on its notes as they are."""
    (part_,) = score.parts
    first, *rest = part_.measures
    signed = (replace(first.attributes[0], keys=(KeySign(Key(fifths)),)), *first.attributes[1:])
    return with_parts(score, [replace(part_, measures=(replace(first, attributes=signed), *rest))])


@pytest.mark.parametrize(
    ("music", "fifths", "printed"),
    [
        (["F4 F#4 F#4 F4"], 0, ["", "sharp", "", "natural"]),
        (["F#4 F4 G4 F#4"], 1, ["", "natural", "", "sharp"]),
        (["F#4 F#5 F#4 G4"], 0, ["sharp", "sharp", "", ""]),
        (["F#4:w", "F#4:w"], 0, ["sharp", "sharp"]),
        (["F#4:w~", "F#4:h F#4:h"], 0, ["sharp", "", "sharp"]),
        (["Bb4 B4 Bbb4 B##4"], -2, ["", "natural", "flat-flat", "double-sharp"]),
        (["C#4+E4+G#4:w"], 0, ["sharp", "", "sharp"]),
    ],
)
def test_accidentals(music: list[str], fifths: int, printed: list[str]) -> None:
    """Common practice: for its letter and octave to the end of the measure, ties carried over."""
    assert accidentals(in_key(line(*music), fifths)) == printed


def test_accidentals_of_a_transposing_instrument() -> None:
    """What is printed is the written pitch: a clarinet in Bb that sounds Bb reads a plain C."""
    score = in_key(line("Bb3 B3 C4 C#4", instrument=None), -2)
    (part_,) = score.parts
    first = part_.measures[0]
    down = Transposition(chromatic=Transposition().chromatic - 2, diatonic=-1)
    first = replace(first, attributes=(replace(first.attributes[0], transpositions=(down,)),))
    written = with_parts(score, [replace(part_, measures=(first,))])
    root = etree.fromstring(to_bytes(written))
    assert root.findtext(".//fifths") == "0"
    names = ["".join(p.text or "" for p in pitch) for pitch in root.iter("pitch")]
    assert names == ["C4", "C14", "D4", "D14"]
    assert accidentals(written) == ["", "sharp", "", "sharp"]
    assert [n.pitch for n in notes(read_bytes(to_bytes(written)).parts[0])] == [
        n.pitch for n in notes(score.parts[0])
    ]


def test_a_transposition_holds_from_its_own_moment() -> None:
    """A change of instrument within a measure moves the notes after it, not those before."""
    down = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    change = f"<attributes>{down}</attributes>"
    note = plain("C5").replace("4<", "2<").replace("whole", "half")
    concert = (
        "<clef><sign>G</sign><line>2</line></clef><transpose><chromatic>0</chromatic></transpose>"
    )
    score = read_bytes(part(note + change + note, concert, name="Reeds"))
    assert [str(n.pitch) for n in notes(score.parts[0])] == ["C5", "Bb4"]
    again = read_bytes(to_bytes(score))
    assert [str(n.pitch) for n in notes(again.parts[0])] == ["C5", "Bb4"]
    root = etree.fromstring(to_bytes(score))
    assert [pitch.findtext("step") for pitch in root.iter("pitch")] == ["C", "C"]


def placed_line() -> Score:
    """Return two notes with places and fingers, in a lower voice's company."""
    score = line("E4:h G3:h")
    places = iter([(Place(1, 0), "0"), (Place(4, 5), "3")])

    def placed(note: Note) -> Note:
        place, finger = next(places)
        return replace(note, place=place, finger=finger)

    return with_parts(score, [map_notes(score.parts[0], placed)])


def test_where_places_and_fingers_stand() -> None:
    """Design: fingers on the notation staff, string and fret on the tab staff."""
    root = etree.fromstring(to_bytes(placed_line(), staves="both"))
    found: dict[str, list[str]] = {"1": [], "2": []}
    for note in root.iter("note"):
        signs = [f"{sign.tag} {sign.text}" for sign in note.iterfind("notations/technical/*")]
        found[note.findtext("staff") or ""] += signs
    assert found["1"] == ["fingering 0", "fingering 3"]
    assert found["2"] == ["string 1", "fret 0", "string 4", "fret 5"]


@pytest.mark.parametrize(
    ("staves", "places", "shown"),
    [("notation", False, 0), ("notation", True, 2), ("tab", False, 2), ("both", False, 2)],
)
def test_places_where_notation_stands_alone(staves: str, places: bool, shown: int) -> None:
    """Notation alone shows strings and frets only where they are asked for."""
    data = to_bytes(placed_line(), staves=staves, places=places)
    assert data.count(b"<fret>") == data.count(b"<string>") == shown


def test_the_tab_staff_says_its_tuning() -> None:
    """MusicXML 4.0, staff-tuning: line 1 is the lowest line; the capo counts in semitones."""
    names = ("D4", "A3", "G3", "D3", "A2", "D2")
    instrument = Instrument(tuple(map(Pitch.parse, names)), capo=2)
    root = etree.fromstring(to_bytes(line("A4:w", instrument=instrument), staves="tab"))
    lines = [
        (one.get("line"), one.findtext("tuning-step"), one.findtext("tuning-octave"))
        for one in root.iter("staff-tuning")
    ]
    assert lines == [(str(n), name[0], name[1]) for n, name in enumerate(reversed(names), 1)]
    assert root.findtext(".//capo") == "2"
    assert root.findtext(".//clef/sign") == "TAB"


@pytest.mark.parametrize(
    ("lowest", "sign", "change"),
    [("E2", "G", "-1"), ("E1", "F", "-1"), ("G3", "G", None), ("B1", "G", "-1")],
)
def test_the_clef_that_players_read(lowest: str, sign: str, change: str | None) -> None:
    """Common practice: guitars sound an octave lower, basses in the bass clef, mandolins as is."""
    strings = (Pitch.parse("E4"), Pitch.parse(lowest))
    root = etree.fromstring(
        to_bytes(line("E4:w", instrument=Instrument(strings)), staves="notation")
    )
    assert root.findtext(".//clef/sign") == sign
    assert root.findtext(".//clef/clef-octave-change") == change
    again = read_bytes(to_bytes(line("E4:w", instrument=Instrument(strings)), staves="notation"))
    assert [str(note.pitch) for note in notes(again.parts[0])] == ["E4"]


def test_names_that_xml_must_escape() -> None:
    """Titles and names with the signs of XML come back as they were."""
    score = replace(
        line("E4:w"),
        work_title="Rise & <fall>",
        movement_title='"Quoted"',
        creators=(("composer", "A & B"), ('odd "type"', "C")),
        rights=(("", "© 2024 <us>"),),
        source="x < y",
    )
    score = with_parts(score, [replace(score.parts[0], name="Guitar & voice", abbreviation="<G>")])
    again = read_bytes(to_bytes(score))
    for name in ("work_title", "movement_title", "creators", "rights", "source", "title"):
        assert getattr(again, name) == getattr(score, name)
    assert (again.parts[0].name, again.parts[0].abbreviation) == ("Guitar & voice", "<G>")


def test_no_clock_and_no_chance() -> None:
    """Two runs give the same bytes, and no date stands in the file or in the packed one."""
    score = line("E4 F4 G4 A4")
    assert to_bytes(score) == to_bytes(score)
    assert to_mxl(score) == to_mxl(score)
    assert b"encoding-date" not in to_bytes(score)
    assert not re.search(rb"20\d\d-\d\d", to_bytes(score))


def test_an_empty_measure_of_a_fretted_part_gets_a_rest() -> None:
    """A measure without an event is written as a rest of its length in each layout of ours."""
    score = line("E4:w", "E4:w")
    (part_,) = score.parts
    silent = replace(part_.measures[1], voices=())
    score = with_parts(score, [replace(part_, measures=(part_.measures[0], silent))])
    data = to_bytes(score, staves="both")
    assert data.count(b'<rest measure="yes"/>') == 2
    assert validate(data) == []


def test_a_layout_that_is_not_there() -> None:
    """The layouts are named when another is asked for."""
    with pytest.raises(UsageError, match="use notation, tab or both"):
        to_bytes(line("E4:w"), staves="grand")


def test_parts_without_an_instrument_keep_their_staves() -> None:
    """A piano part stays on its own staves, whatever is asked for the guitar beside it."""
    piano = line("C4:w", instrument=None).parts[0]
    clef = Attributes(0, clefs=(Clef("F", 4),))
    first = replace(piano.measures[0], attributes=(*piano.measures[0].attributes, clef))
    score = line("E4:w", instrument=STANDARD_GUITAR)
    both = with_parts(
        score, [*score.parts, replace(piano, id="P2", name="Piano", measures=(first,))]
    )
    root = etree.fromstring(to_bytes(both, staves="both"))
    staves = [part_.findtext(".//staves") for part_ in root.iterfind("part")]
    assert staves == ["2", None]
