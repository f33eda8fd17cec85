"""Publish, correct five notes by hand, change the source, build again: the five stay everywhere."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.calling import call, is_one_line
from variants.musicxml import read
from variants.score import Place

_SET = """
[build]
outputs = ["musicxml", "pdf", "html"]
index = false
recipes = ["plain"]

[variants.plain]
title = "As it is"

[[songs]]
source = "tune.musicxml"
"""
# One voice in quarters and halves, all of it within the first position; in C.
_MEASURES = ("E4 G4 A4 G4", "C4 D4 E4 E4", "D4 F4 A4 F4", "E4 G4 A4 G4", "G4 E4 D4 C4")
# Measure and note, each from 1, with the place and finger that a teacher writes over ours. All are
# one string lower than the lowest place, the string being five frets up (four to the B string).
_CORRECTIONS = {
    (1, 2): (2, 8, "4"),
    (2, 3): (2, 5, "1"),
    (3, 1): (3, 7, "3"),
    (4, 2): (2, 8, "3"),
    (5, 4): (3, 5, "1"),
}


def _tune(folder: Path, measures: tuple[str, ...] = _MEASURES) -> None:
    body = ""
    for number, text in enumerate(measures, 1):
        body += f'<measure number="{number}">'
        if number == 1:
            body += (
                "<attributes><divisions>1</divisions><key><fifths>0</fifths></key><time><beats>4"
                "</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line>"
                "<clef-octave-change>-1</clef-octave-change></clef></attributes>"
            )
        for name in text.split():
            body += (
                f"<note><pitch><step>{name[0]}</step><octave>{name[1]}</octave></pitch>"
                "<duration>1</duration><type>quarter</type></note>"
            )
        body += "</measure>"
    (folder / "tune.musicxml").write_text(
        '<score-partwise version="4.0"><work><work-title>Slack Water</work-title></work><part-list>'
        '<score-part id="P1"><part-name>Guitar</part-name></score-part></part-list>'
        f'<part id="P1">{body}</part></score-partwise>'
    )


def _build(folder: Path) -> Path:
    (folder / "set.toml").write_text(_SET)
    done = call("build", folder / "set.toml", "--jobs", "1")
    assert (done.code, done.err) == (0, ""), done.out
    return folder / "out" / "tune" / "plain.musicxml"


def _correct(path: Path) -> None:
    """Write the corrections as a notation program does: finger over the notes, places on the tab.

    Such a program knows nothing of the signs that say what is ours, and drops them.
    """
    tree = etree.parse(path)
    for note in tree.iter("note"):
        for level in note.findall("level"):
            note.remove(level)
    for number, measure in enumerate(tree.iter("measure"), 1):
        for staff in ("1", "2"):
            heads = [note for note in measure.iter("note") if note.findtext("staff") == staff]
            for index, note in enumerate(heads, 1):
                if (number, index) in _CORRECTIONS:
                    _write(note, *_CORRECTIONS[number, index])
    tree.write(path, encoding="UTF-8", xml_declaration=True)


def _write(note: etree._Element, string: int, fret: int, finger: str) -> None:
    for name, value in (("string", string), ("fret", fret), ("fingering", finger)):
        for sign in note.iter(name):
            sign.text = str(value)


def _held(path: Path) -> list[list[tuple[Place | None, str]]]:
    part = read(path).parts[0]
    return [
        [(n.place, n.finger) for v in m.voices for e in v.events for n in e.notes]
        for m in part.measures
    ]


def _check_held(path: Path, *, shift: int = 0) -> None:
    held = _held(path)
    for (measure, index), (string, fret, finger) in _CORRECTIONS.items():
        assert held[measure - 1 + shift][index - 1] == (Place(string, fret), finger)


def test_publish_correct_change_build(tmp_path: Path) -> None:
    """Five corrections by hand, two measures put in before them: MusicXML, PDF and page keep them.

    The PDF and the page are held against those of a source in which the five stand already.
    """
    (tmp_path / "mine").mkdir()
    _tune(tmp_path / "mine")
    out = _build(tmp_path / "mine")
    _correct(out)
    done = call("pin", out, "--set", tmp_path / "mine" / "set.toml")
    assert (done.code, done.err) == (0, "")
    assert "5 pins in" in done.out
    assert "The next build writes this file anew" in " ".join(done.out.split())

    changed = ("C4 E4 G4 E4", "F4 F4 E4 D4", *_MEASURES)
    _tune(tmp_path / "mine", changed)
    _build(tmp_path / "mine")
    _check_held(out, shift=2)

    (tmp_path / "theirs").mkdir()
    _tune(tmp_path / "theirs", changed)
    _pin_in_source(tmp_path / "theirs" / "tune.musicxml")
    other = _build(tmp_path / "theirs")
    _check_held(other, shift=2)
    for name in ("plain.pdf", "review.html"):
        assert (out.parent / name).read_bytes() == (other.parent / name).read_bytes()


def _pin_in_source(path: Path) -> None:
    tree = etree.parse(path)
    for number, measure in enumerate(tree.iter("measure"), 1):
        for index, note in enumerate(measure.iter("note"), 1):
            if (number - 2, index) in _CORRECTIONS:
                string, fret, finger = _CORRECTIONS[number - 2, index]
                notations = etree.SubElement(note, "notations")
                technical = etree.SubElement(notations, "technical")
                for name, value in (("fingering", finger), ("string", string), ("fret", fret)):
                    etree.SubElement(technical, name).text = str(value)
    tree.write(path)


def test_an_edited_output_without_pins_is_left_alone(tmp_path: Path) -> None:
    """As before: what nobody has pinned is not written over."""
    _tune(tmp_path)
    out = _build(tmp_path)
    _correct(out)
    text = out.read_text()
    _tune(tmp_path, (*_MEASURES, "C4 C4 C4 C4"))
    done = call("build", tmp_path / "set.toml", "--jobs", "1")
    assert done.code == 1
    assert out.read_text() == text


def test_other_edits_are_not_lost(tmp_path: Path) -> None:
    """A word written by hand is no pin: the file stays as it is, and the report says why."""
    _tune(tmp_path)
    out = _build(tmp_path)
    _correct(out)
    words = (
        "<direction><direction-type><words>softly</words></direction-type><staff>1</staff>"
        "</direction>"
    )
    text = re.sub(r"(<measure number=\"2\"[^>]*>)", rf"\1{words}", out.read_text(), count=1)
    assert "softly" in text
    out.write_text(text)
    done = call("pin", out, "--set", tmp_path / "set.toml", "--json")
    report = json.loads(done.out)
    assert len(report["pins"]) == 5
    assert "more than" in report["left-alone"]
    assert call("build", tmp_path / "set.toml", "--jobs", "1").code == 1
    assert out.read_text() == text
    assert call("build", tmp_path / "set.toml", "--jobs", "1", "--force").code == 0
    _check_held(out)


def test_a_lone_variant(tmp_path: Path) -> None:
    """Without a set the file itself tells; its pins go with --pins, and name a lost one."""
    _tune(tmp_path)
    out = tmp_path / "made.musicxml"
    assert call("vary", tmp_path / "tune.musicxml", "-o", out).code == 0
    text = out.read_text().replace("<fingering>2</fingering>", "<fingering>1</fingering>", 1)
    assert text != out.read_text()
    out.write_text(text)
    assert call("pin", out).code == 0
    pins = tmp_path / "made.pins.toml"
    again = tmp_path / "again.musicxml"
    assert call("vary", tmp_path / "tune.musicxml", "--pins", pins, "-o", again).code == 0
    before, after = (
        [finger for measure in _held(path) for _, finger in measure] for path in (out, again)
    )
    changed = before.index("1")
    assert after[changed] == "1"
    _tune(tmp_path, ("C4 C4 C4 C4",))
    done = call("vary", tmp_path / "tune.musicxml", "--pins", pins, "-o", again)
    assert done.code == 0
    assert "is lost: its notes are no longer there" in " ".join(done.out.split())


@pytest.mark.parametrize("toml", ["x = 1", "[[pins]]\nmeasure = '1'", "[[pins]]\nfinger = 9"])
def test_a_faulty_file_is_one_line(toml: str, tmp_path: Path) -> None:
    """A file of pins with a fault: its line, the cause, the way out."""
    _tune(tmp_path)
    pins = tmp_path / "p.toml"
    pins.write_text(toml)
    out = tmp_path / "x.musicxml"
    done = call("vary", tmp_path / "tune.musicxml", "--pins", pins, "-o", out)
    assert done.code == 2
    assert is_one_line(done.err)
    assert "line 1" in done.err
    assert not out.exists()
