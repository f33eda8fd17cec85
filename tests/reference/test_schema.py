"""What is written is valid MusicXML 4.0.

Source: the W3C schema (MusicXML 4.0, W3C Community Final Specification Agreement) that the PyPI
package ``musicxml`` carries; see `tests.xsd`. The sums, strings, ties and part ids, to which the
schema is blind, are counted here from the XML itself, not through our reader.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import pytest
from lxml import etree

from tests.xsd import validate
from variants.finish import finish
from variants.musicxml import read, to_bytes, to_mxl
from variants.musicxml.source import unpack
from variants.pipeline import parse_pipeline
from variants.score import STANDARD_GUITAR, Score, with_parts

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.musicxml"))
LAYOUTS = ("source", "notation", "tab", "both")
STEPS = ("transpose:interval=m3", "invert-dyads", "simplify-rhythm:grid=quarter,keep=strong")
each_sample = pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
each_layout = pytest.mark.parametrize("staves", LAYOUTS)


def test_the_schema_finds_faults() -> None:
    """The schema is really applied: a note without a duration and a wrong value are faults."""
    assert validate(b'<score-partwise version="4.0"/>')
    good = to_bytes(read(SAMPLES[0]))
    assert validate(good) == []
    assert validate(good.replace(b"<voice>1</voice>", b"<voice>1</voice><stem>sideways</stem>", 1))


@each_sample
@each_layout
def test_samples_in_every_layout(path: Path, staves: str) -> None:
    """Our own scores are valid in each layout, and packed as .mxl they are the same file."""
    score = read(path)
    data = to_bytes(score, staves=staves)
    assert validate(data) == []
    assert unpack(to_mxl(score, staves=staves)) == data


@each_sample
@pytest.mark.parametrize("step", STEPS)
def test_samples_after_a_step(path: Path, step: str) -> None:
    """What steps make of our scores is valid too."""
    result = parse_pipeline([step])(read(path))
    assert validate(to_bytes(result, staves="both")) == []


@each_sample
@each_layout
def test_what_the_schema_does_not_see(path: Path, staves: str) -> None:
    """Measures add up, backups stay inside, ties end, and the parts are the ones declared."""
    score = read(path)
    root = etree.fromstring(to_bytes(score, staves=staves))
    declared = [one.get("id") for one in root.iterfind("part-list/score-part")]
    assert [part.get("id") for part in root.iterfind("part")] == declared
    for part, ours in zip(root.iterfind("part"), score.parts, strict=True):
        lengths = [_length(measure) for measure in part.iterfind("measure")]
        assert lengths == [measure.length for measure in ours.measures]
        assert _open_ties(part) == []


def _length(measure: etree._Element) -> int:
    """Return how far a measure reaches, in divisions, as its elements say."""
    now = reach = 0
    for element in measure:
        length = int(element.findtext("duration") or 0)
        if element.tag == "forward" or (element.tag == "note" and element.find("chord") is None):
            now += length
        elif element.tag == "backup":
            now -= length
        assert now >= 0
        reach = max(reach, now)
    return reach


def _open_ties(part: etree._Element) -> list[tuple[str, str]]:
    """Return (staff, pitch) of the ties that begin and do not end, or end without a beginning."""
    held: dict[tuple[str, str], int] = defaultdict(int)
    for note in part.iter("note"):
        pitch = " ".join(one.text or "" for one in note.iterfind("pitch/*"))
        name = (note.findtext("staff") or "1", pitch)
        kinds = [tie.get("type") for tie in note.iterfind("tie")]
        held[name] += kinds.count("start") - kinds.count("stop")
        assert held[name] >= 0, name
    return [name for name, times in held.items() if times]


def for_guitar(score: Score) -> Score:
    """Return the score with the standard guitar for parts that name no instrument."""
    parts = [replace(p, instrument=p.instrument or STANDARD_GUITAR) for p in score.parts]
    return with_parts(score, parts)


@each_sample
@pytest.mark.parametrize("staves", ["tab", "both"])
def test_tab_agrees_with_the_pitch(path: Path, staves: str) -> None:
    """Tuning, capo and fret add up to the pitch of each placed note, counted from the XML."""
    data = to_bytes(finish(for_guitar(read(path))).score, staves=staves)
    assert validate(data) == []
    for part in etree.fromstring(data).iterfind("part"):
        checked = [_check_places(part, details) for details in part.iter("staff-details")]
        assert sum(checked) > 0


_SEMITONES = dict(zip("CDEFGAB", (0, 2, 4, 5, 7, 9, 11), strict=True))


def _midi(element: etree._Element, prefix: str) -> int:
    step = element.findtext(f"{prefix}step") or ""
    alter = int(element.findtext(f"{prefix}alter") or 0)
    return 12 * (int(element.findtext(f"{prefix}octave") or 0) + 1) + _SEMITONES[step] + alter


def _check_places(part: etree._Element, details: etree._Element) -> int:
    """Check every placed note of a part and return how many there are."""
    lines = int(details.findtext("staff-lines") or 0)
    capo = int(details.findtext("capo") or 0)
    # MusicXML 4.0, staff-tuning: line 1 is the lowest; string: 1 is the highest string.
    opened = {
        lines + 1 - int(one.get("line") or 0): _midi(one, "tuning-")
        for one in details.iterfind("staff-tuning")
    }
    checked = 0
    for note in part.iter("note"):
        technical = note.find("notations/technical")
        pitch = note.find("pitch")
        if technical is None or technical.find("fret") is None or pitch is None:
            continue
        string = int(technical.findtext("string") or 0)
        fret = int(technical.findtext("fret") or 0)
        assert opened[string] + capo + fret == _midi(pitch, "")
        checked += 1
    return checked
