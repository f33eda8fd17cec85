"""`neckwise vary` and `neckwise finger`, as a teacher would call them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from lxml import etree

from tests.cli.calling import DUET, RIFF, SAMPLES, call
from tests.xsd import validate
from variants.musicxml import read
from variants.score import Place, notes, onsets

EVERY_SAMPLE = sorted(SAMPLES.glob("*.musicxml"))
FILE = Path("a.musicxml")


def _report(*words: str | Path) -> dict[str, Any]:
    done = call("vary", *words, "--json")
    assert (done.code, done.err) == (0, "")
    report: dict[str, Any] = json.loads(done.out)
    return report


def _tree(path: Path) -> etree._Element:
    return etree.fromstring(path.read_bytes())


@pytest.mark.parametrize("path", EVERY_SAMPLE, ids=lambda path: path.stem)
@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
def test_every_sample(path: Path, staves: str, tmp_path: Path) -> None:
    """Without a step each sample is fingered, valid, and the same music."""
    out = tmp_path / FILE
    done = call("vary", path, "-o", out, "--staves", staves, "--part", "all")
    assert (done.code, done.err) == (0, "")
    assert validate(out.read_bytes()) == []
    before, after = read(path), read(out)
    for old, new in zip(before.parts, after.parts, strict=True):
        assert [one.semitones for one in onsets(old)] == [one.semitones for one in onsets(new)]


def test_report_shape(tmp_path: Path) -> None:
    """The JSON report has what the design says; a change has its four fields."""
    out = tmp_path / FILE
    report = _report(RIFF, "-s", "transpose:interval=M2", "-s", "invert-dyads", "-o", out)
    assert report["source"] == str(RIFF)
    assert report["output"] == str(out)
    assert report["steps"] == ["transpose:interval=M2", "invert-dyads"]
    assert report["key"] == "B minor"
    # A2 to D4 up a tone is B2 to E4; the fifth below D4-A4... turns E4 into its lower octave.
    assert report["range"] == {"lowest": "F#2", "highest": "A3"}
    assert set(report["kept"]) == {
        "shifted-pitch-classes",
        "onsets",
        "durations",
        "measure-lengths",
    }
    assert report["interval"] == "M2"
    assert {change["step"] for change in report["changes"]} >= {"transpose", "invert-dyads"}
    for change in report["changes"]:
        assert set(change) == {"measure", "beat", "step", "message"}


def test_both_staves_are_the_default(tmp_path: Path) -> None:
    """A part for guitar gets notation and tab, with string and fret for every note."""
    out = tmp_path / FILE
    assert call("vary", RIFF, "-o", out).code == 0
    tree = _tree(out)
    assert [sign.text for sign in tree.iter("sign")] == ["G", "TAB"]
    assert len(list(tree.iter("fret"))) == len(list(tree.iter("string"))) > 0


def test_reading_only(tmp_path: Path) -> None:
    """Notation without marks says nothing of strings, frets or fingers."""
    out = tmp_path / FILE
    assert call("vary", RIFF, "-o", out, "--staves", "notation", "--mark", "none").code == 0
    tree = _tree(out)
    for name in ("fret", "string", "fingering", "staff-details"):
        assert list(tree.iter(name)) == []


def test_reading_only_needs_no_hand(tmp_path: Path) -> None:
    """What no hand can play can still be read, but not written as tab."""
    out = tmp_path / FILE
    words = ("vary", RIFF, "--tuning", "ukulele", "-o", out)
    done = call(*words)
    assert done.code == 2
    assert "measure 1, beat 1" in done.err
    assert not out.exists()
    assert call(*words, "--staves", "notation", "--mark", "none").code == 0


def test_places_on_notation(tmp_path: Path) -> None:
    """`--places` puts string and fret on a notation staff that stands alone."""
    out = tmp_path / FILE
    assert call("vary", RIFF, "-o", out, "--staves", "notation", "--places").code == 0
    assert list(_tree(out).iter("fret"))


def test_no_fingers_on_tab(tmp_path: Path) -> None:
    """`--mark none` leaves a tab its frets and takes fingers and positions."""
    out = tmp_path / FILE
    assert call("vary", RIFF, "-o", out, "--mark", "none").code == 0
    tree = _tree(out)
    assert list(tree.iter("fret"))
    assert list(tree.iter("fingering")) == []


def test_capo_counts_from_the_capo(tmp_path: Path) -> None:
    """The riff moved up a tone with a capo at fret 2 has the frets that it had without."""
    plain, capoed = tmp_path / "plain.musicxml", tmp_path / "capoed.musicxml"
    assert call("vary", RIFF, "-o", plain).code == 0
    words = ("vary", RIFF, "-s", "transpose:interval=M2", "--capo", "2", "-o", capoed)
    assert call(*words).code == 0
    frets = [[one.text for one in _tree(path).iter("fret")] for path in (plain, capoed)]
    assert frets[0] == frets[1]
    assert _tree(capoed).findtext(".//capo") == "2"


def test_tuning_is_written(tmp_path: Path) -> None:
    """A tuning by name or by notes reaches the file, lowest line first."""
    out = tmp_path / FILE
    for tuning in ("drop-d", "D2-A2-D3-G3-B3-E4"):
        assert call("vary", RIFF, "--tuning", tuning, "-o", out).code == 0
        steps = [one.text for one in _tree(out).iter("tuning-step")]
        assert steps == ["D", "A", "D", "G", "B", "E"]


def test_what_somebody_decided_is_kept(tmp_path: Path) -> None:
    """Places of the file stay unless they are asked to go; what we chose is no decision.

    Another program's file is made of ours by taking out what says that the places are ours.
    """
    ours, theirs = tmp_path / "ours.musicxml", tmp_path / "theirs.musicxml"
    words = ("--position", "5", "--open-strings", "avoid")
    assert call("vary", RIFF, *words, "-o", ours).code == 0
    theirs.write_text(re.sub("<level>.*?</level>", "", ours.read_text()))
    usual = _places_after(RIFF, tmp_path)
    high = [note.place for note in notes(read(ours).parts[0])]
    assert high != usual
    assert _places_after(ours, tmp_path) == usual
    assert _places_after(theirs, tmp_path) == high
    assert _places_after(theirs, tmp_path, "--fingering", "fill") == usual
    assert _places_after(theirs, tmp_path, "--fingering", "new") == usual


def test_an_edit_in_our_own_file_is_a_decision(tmp_path: Path) -> None:
    """One finger changed by hand in a file of ours stays; all others are found again."""
    ours, edited = tmp_path / "ours.musicxml", tmp_path / "edited.musicxml"
    assert call("vary", RIFF, "-o", ours).code == 0
    text = ours.read_text()
    edited.write_text(text.replace("<fingering>1</fingering>", "<fingering>2</fingering>", 1))
    assert edited.read_text() != text
    again = tmp_path / "again.musicxml"
    assert call("vary", edited, "-o", again).code == 0
    before, after = (
        [note.finger for note in notes(read(path).parts[0])] for path in (edited, again)
    )
    changed = before.index("2")
    assert after[changed] == "2"
    third = tmp_path / "third.musicxml"
    assert call("vary", again, "-o", third).code == 0
    assert [note.finger for note in notes(read(third).parts[0])] == after


def test_what_cannot_be_kept_is_said(tmp_path: Path) -> None:
    """A place that does not sound its note is said with its measure, and chosen anew."""
    ours, wrong = tmp_path / "ours.musicxml", tmp_path / "wrong.musicxml"
    assert call("vary", RIFF, "-o", ours).code == 0
    text = re.sub("<level>.*?</level>", "", ours.read_text())
    text = text.replace("<fret>2</fret>", "<fret>9</fret>", 1)
    wrong.write_text(text)
    done = call("vary", wrong, "-o", tmp_path / FILE)
    assert done.code == 0
    assert "measure 1" in done.out
    assert "the tab says string 4 fret 9 (B3)" in " ".join(done.out.split())


def _places_after(file: Path, folder: Path, *words: str) -> list[Place | None]:
    out = folder / "after.musicxml"
    assert call("vary", file, *words, "--force", "-o", out).code == 0
    return [note.place for note in notes(read(out).parts[0])]


def test_one_part_or_all(tmp_path: Path) -> None:
    """One part by name, or all parts moved together."""
    out = tmp_path / FILE
    one = _report(DUET, "--part", "guitar 2", "-o", out)
    assert one["part"] == "P2"
    assert [part.id for part in read(out).parts] == ["P2"]
    both = _report(DUET, "--part", "all", "-s", "transpose:interval=M2", "-o", out)
    assert both["key"] == "D major"
    moved = read(out)
    assert [part.id for part in moved.parts] == ["P1", "P2"]
    assert all(note.place for part in moved.parts for note in notes(part))


def test_choose_part_step_chooses(tmp_path: Path) -> None:
    """A leading step choose-part takes the place of --part."""
    report = _report(DUET, "-s", "choose-part:part=P1", "-o", tmp_path / FILE)
    assert report["part"] == "P1"
    assert report["kept"] == ["pitch-class-subset"] or "pitch-class-subset" in report["kept"]


def test_reading_concert(tmp_path: Path) -> None:
    """A plain treble clef sounds an octave lower for a guitarist, as written for the concert."""
    plain = tmp_path / "plain.musicxml"
    text = RIFF.read_text(encoding="utf-8")
    octave = "<clef-octave-change>-1</clef-octave-change>"
    assert octave in text
    plain.write_text(text.replace(octave, ""), encoding="utf-8")
    words = (plain, "-o", tmp_path / FILE, "--staves", "notation", "--mark", "none")
    concert = _report(*words, "--reading", "concert")["range"]["lowest"]
    auto = _report(*words)
    assert (auto["range"]["lowest"][:-1], int(auto["range"]["lowest"][-1]) + 1) == (
        concert[:-1],
        int(concert[-1]),
    )
    assert any("octave lower" in change["message"] for change in auto["changes"])


def test_quiet(tmp_path: Path) -> None:
    """`--quiet` says nothing."""
    done = call("vary", RIFF, "-o", tmp_path / FILE, "--quiet")
    assert (done.code, done.out, done.err) == (0, "", "")


def test_explain(tmp_path: Path) -> None:
    """`--explain` gives promises, the hand with its numbers, and the caution about stretching."""
    done = call("vary", RIFF, "-s", "invert-dyads", "-o", tmp_path / FILE, "--explain")
    assert done.code == 0
    assert "What each step keeps" in done.out
    assert "measure 1, beat 1: position" in done.out
    assert "stop, rest" in done.out


def test_report_fits_the_terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No line of the report is longer than 80 columns, file names aside."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)
    Path("a.musicxml").write_bytes(RIFF.read_bytes())
    done = call("vary", "a.musicxml", "-s", "transpose:interval=M2", "-o", "b.xml", "--explain")
    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= 80


def test_refusal_names_file_and_place(tmp_path: Path) -> None:
    """A step that cannot be done says where and what to do instead, and nothing is written."""
    out = tmp_path / FILE
    done = call("vary", RIFF, "--hand", "small", "--capo", "9", "-o", out)
    assert done.code == 2
    assert done.err.startswith(f"neckwise: {RIFF}, measure 1, beat 1: ")
    assert "; " in done.err
    assert not out.exists()


def test_finger_changes_nothing_else(tmp_path: Path) -> None:
    """`finger` sets places and fingers and keeps every sounding pitch."""
    out = tmp_path / FILE
    done = call("finger", RIFF, "-o", out, "--json")
    assert done.code == 0
    assert json.loads(done.out)["kept"][0] == "sounding-pitches"
    assert all(note.place for note in notes(read(out).parts[0]))


def test_same_bytes(tmp_path: Path) -> None:
    """Two runs of one call give the same bytes."""
    words = ("vary", RIFF, "-s", "transpose:key=E minor", "-o", "-", "-q")
    assert call(*words).out == call(*words).out
