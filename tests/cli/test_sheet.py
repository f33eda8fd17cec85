"""`neckwise sheet`: what it writes, what it says, and what it refuses."""

from __future__ import annotations

import io
import json
import re
import sys
from pathlib import Path

import mido
import pytest
import soundfile
from lxml import etree

from tests.cli.calling import DUET, RIFF, SAMPLES, call, call_apart, is_one_line


def test_a_handout(tmp_path: Path) -> None:
    """A handout is a PDF, and one line says how many pages it has."""
    out = tmp_path / "riff.pdf"
    result = call("sheet", RIFF, "-o", out, "--staves", "both")
    assert (result.code, result.err) == (0, "")
    assert out.read_bytes().startswith(b"%PDF-")
    assert "1 page, a4, normal print" in " ".join(result.out.split())


def test_two_processes_write_the_same(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two processes with other seeds of hashes give the same bytes, for each kind of output."""
    for ending in ("pdf", "mid", "svg", "html"):
        made = []
        for seed in ("1", "2"):
            monkeypatch.setenv("PYTHONHASHSEED", seed)
            out = tmp_path / f"{seed}.{ending}"
            assert call_apart("sheet", RIFF, "-o", out, "-q").code == 0
            made.append(out.read_bytes())
        assert made[0] == made[1]


def test_papers_sizes_and_pages(tmp_path: Path) -> None:
    """Versions, exercises and answers make one handout; JSON tells its pages."""
    out = tmp_path / "all.pdf"
    words = ["--paper", "letter", "--size", "large", "--staves", "both", "--answers", "--json"]
    exercises = [word for name in ("fill-tab", "clap") for word in ("--exercise", name)]
    result = call("sheet", RIFF, DUET, "-o", out, *words, *exercises, "--left-handed")
    assert result.code == 0
    told = json.loads(result.out)
    assert told["pages"] >= 7
    assert told["sources"] == [str(RIFF), str(DUET)]


def test_a_page_to_review(tmp_path: Path) -> None:
    """A .html output holds every version, named by what their files' names do not share."""
    low = tmp_path / "harbour-riff-low.musicxml"
    assert call("vary", RIFF, "-s", "transpose:interval=-M2", "-o", low, "-q").code == 0
    out = tmp_path / "riff.html"
    result = call("sheet", RIFF, low, "-o", out, "--staves", "both")
    assert (result.code, result.err) == (0, "")
    assert "2 versions to look at and to hear" in " ".join(result.out.split())
    text = out.read_text(encoding="utf-8")
    assert re.findall(r'<h2 id="v\d-name"[^>]*>([^<]*)<', text) == ["Harbour riff", "Low"]
    assert "All of it sounds 2 semitones (M2) lower" in text
    assert call("sheet", RIFF, "-o", out, "-q").code == 0
    out.write_text("<html>of somebody else</html>")
    assert call("sheet", RIFF, "-o", out, "-q").code == 2


def test_what_it_practises(tmp_path: Path) -> None:
    """What is practised comes from the notes unless it is told; an empty text leaves it out."""
    found = {}
    for name, words in {
        "found": (),
        "told": ("--practises", "patience"),
        "none": ("--practises", ""),
    }.items():
        out = tmp_path / f"{name}.html"
        assert call("sheet", RIFF, "-o", out, "-q", "--staves", "both", *words).code == 0
        found[name] = out.read_text(encoding="utf-8")
    assert "dyads: perfect fifth" in found["found"]
    assert "patience" in found["told"]
    assert "dyads" not in found["told"]
    assert "What this version practises" not in found["none"]


def test_the_sound(tmp_path: Path) -> None:
    """A .mid output holds one track for each part beside the first."""
    out = tmp_path / "duet.mid"
    assert call("sheet", DUET, "-o", out).code == 0
    assert len(mido.MidiFile(file=io.BytesIO(out.read_bytes())).tracks) == 3


@pytest.mark.parametrize("ending", ["wav", "flac", "ogg", "mp3"])
def test_sound_files(ending: str, tmp_path: Path) -> None:
    """Two rounds of two measures at half speed with a count-in: 4 beats, then 16, at 92 and 46."""
    out = tmp_path / f"practice.{ending}"
    options = ("--speed", "50", "--loop", "1-2x2", "--count-in", "--click", "--without", "P2")
    result = call("sheet", DUET, "-o", out, *options)
    assert result.code == 0, result.err
    assert "0:26 minutes of sound" in _words(result.out)
    samples, rate = soundfile.read(io.BytesIO(out.read_bytes()))
    # The last note and the room die away behind the last beat.
    assert 20 * 60 / 46 <= len(samples) / rate < 20 * 60 / 46 + 1.5


def test_a_sound_file_is_the_same_again(tmp_path: Path) -> None:
    """Two runs write the same bytes, and wishes for sound have no use elsewhere."""
    one, two = tmp_path / "one.ogg", tmp_path / "two.ogg"
    for out in (one, two):
        assert call("sheet", RIFF, "-o", out, "-q").code == 0
    assert one.read_bytes() == two.read_bytes()
    wrong = call("sheet", RIFF, "-o", tmp_path / "x.pdf", "--click")
    assert wrong.code == 2
    assert "--click is for .wav" in wrong.err
    assert "leave it out" in wrong.err


def test_drawings(tmp_path: Path) -> None:
    """A .svg output is one drawing of all lines, or the map of the neck, named in words."""
    out = tmp_path / "duet.svg"
    for words, title in (([], "Two Boats"), (["--neck", "--left-handed"], "Neck map")):
        assert call("sheet", DUET, "-o", out, "--staves", "both", *words).code == 0
        root = etree.fromstring(out.read_bytes())
        assert (root.findtext("{http://www.w3.org/2000/svg}title") or "").startswith(title)
    music = etree.fromstring(_written(tmp_path / "music.svg"))
    lines = music.findall("{http://www.w3.org/2000/svg}svg")
    heights = [(float(line.get("y", 0)), float(line.get("height", 0))) for line in lines]
    assert len(heights) == 2
    assert heights[1][0] > heights[0][1]


def _written(out: Path) -> bytes:
    assert call("sheet", DUET, "-o", out, "-q").code == 0
    return out.read_bytes()


def test_what_changed_comes_from_the_report(tmp_path: Path) -> None:
    """The report that stands beside a version fills its box; a broken one is told."""
    version = tmp_path / "low.musicxml"
    made = call("vary", RIFF, "-s", "transpose:semitones=2", "-o", version, "--json")
    assert made.code == 0
    bare = tmp_path / "bare.pdf"
    assert call("sheet", version, "-o", bare, "-q", "--notes", "teacher").code == 0
    report = json.loads(made.out)
    report["changes"].append(
        {"measure": "1", "beat": "2", "step": "transpose", "message": "a note moved"}
    )
    (tmp_path / "low.json").write_text(json.dumps(report))
    told = tmp_path / "told.pdf"
    assert call("sheet", version, "-o", told, "-q", "--notes", "teacher").code == 0
    assert told.read_bytes() != bare.read_bytes()
    (tmp_path / "low.json").write_text("{")
    result = call("sheet", version, "-o", told)
    assert result.code == 2
    assert is_one_line(result.err)
    assert "low.json: is no JSON" in result.err


def test_what_changed_is_for_the_teacher(tmp_path: Path) -> None:
    """A pupil's page is the same whatever the report says; the teacher's is not."""
    version = tmp_path / "low.musicxml"
    assert call("vary", RIFF, "-s", "transpose:semitones=2", "-o", version, "-q").code == 0
    made = []
    for text in ('{"changes": []}', '{"changes": [{"step": "transpose", "message": "it moved"}]}'):
        (tmp_path / "low.json").write_text(text)
        out = tmp_path / "pupil.pdf"
        assert call("sheet", version, "-o", out, "-q").code == 0
        made.append(out.read_bytes())
    assert made[0] == made[1]


def test_two_songs_are_two_sheets(tmp_path: Path) -> None:
    """Files of different titles are told apart, and each song has its own reading page."""
    out = tmp_path / "new" / "folder" / "two.pdf"
    result = call("sheet", RIFF, DUET, "-o", out, "--staves", "both")
    assert result.code == 0
    assert "2 songs (Harbour Riff; Two Boats): each has sheets of its own" in _words(result.out)
    assert out.is_file()


def _words(text: str) -> str:
    return " ".join(text.split())


def test_pages_as_pictures(tmp_path: Path) -> None:
    """A .png output is one file a page, in the size that is asked for, and may be made again."""
    out = tmp_path / "riff.png"
    for _ in range(2):
        assert call("sheet", RIFF, "-o", out, "-q", "--dpi", "72").code == 0
    data = out.read_bytes()
    # W3C PNG, 11.2.2: width and height are the first numbers of the header chunk.
    width, height = (int.from_bytes(data[at : at + 4], "big") for at in (16, 20))
    # A4 is 210 by 297 mm (ISO 216), 595 by 842 points.
    assert (abs(width - 595), abs(height - 842)) <= (1, 1)
    many = tmp_path / "many.png"
    words = [
        "--exercise",
        "fill-tab",
        "--answers-out",
        str(tmp_path / "answers.pdf"),
        "--dpi",
        "40",
    ]
    assert call("sheet", RIFF, "-o", many, "-q", "--staves", "both", *words).code == 0
    assert not many.exists()
    assert [path.name for path in sorted(tmp_path.glob("many-*.png"))] == [
        "many-1.png",
        "many-2.png",
    ]
    assert (tmp_path / "answers.pdf").read_bytes().startswith(b"%PDF")


def test_one_page_or_a_refusal(tmp_path: Path) -> None:
    """What does not fit one page is refused with the number of pages that it takes."""
    out = tmp_path / "one.pdf"
    assert call("sheet", RIFF, "-o", out, "-q", "--one-page").code == 0
    result = call("sheet", RIFF, DUET, "-o", out, "-q", "--one-page")
    assert result.code == 2
    assert is_one_line(result.err)
    assert "does not fit one page: it takes 2" in result.err


def test_it_writes_over_its_own_files_only(tmp_path: Path) -> None:
    """What neckwise wrote may be written again; what others wrote needs --force."""
    out = tmp_path / "riff.pdf"
    assert call("sheet", RIFF, "-o", out, "-q").code == 0
    assert call("sheet", RIFF, "-o", out, "-q").code == 0
    out.write_bytes(b"%PDF-1.7 of somebody else")
    result = call("sheet", RIFF, "-o", out, "-q")
    assert result.code == 2
    assert "exists, and neckwise did not write it" in result.err
    assert out.read_bytes() == b"%PDF-1.7 of somebody else"
    assert call("sheet", RIFF, "-o", out, "-q", "--force").code == 0


def test_missing_letters_are_told(tmp_path: Path) -> None:
    """Letters that no font has are named, and the page is printed all the same."""
    text = RIFF.read_text(encoding="utf-8").replace("Harbour Riff", "港のリフ")
    source = tmp_path / "s.musicxml"
    source.write_text(text, encoding="utf-8")
    result = call("sheet", source, "-o", tmp_path / "s.pdf")
    assert result.code == 0
    assert "no font here has 港 (U+6E2F)" in " ".join(result.out.split())


@pytest.mark.parametrize(
    ("words", "text"),
    [
        (["-o", "x.docx"], "x.docx: the name does not say what to write; let it end in .pdf"),
        (["-o", "x.pdf", "--exercise", "sing"], "there is no exercise 'sing'; use fill-tab"),
        (["-o", "x.pdf", "--answers"], "there is nothing to answer; name an exercise"),
        (["-o", "x.pdf", "--name", "a", "--name", "b"], "2 names for 1 files; give --name once"),
        (["-o", "x.pdf", "--template", "none.typ"], "none.typ: cannot be read"),
        (["-o", "x.pdf", "--fonts", "none"], "none is no folder"),
        (["-o", "x.pdf", "--paper", "a3"], "'a3' is not one of 'a4', 'letter'"),
        ([str(DUET), "-o", "x.mid"], "a sound file holds one version; name one file"),
        ([str(DUET), "-o", "x.svg"], "a drawing holds one version; name one file"),
        (["-o", "x.html", "--answers"], "--answers is for .pdf and .png and the output is .html"),
        (
            ["-o", "x.mid", "--exercise", "clap"],
            "--exercise is for .pdf and .png and the output is .mid",
        ),
        (["-o", "x.svg", "--template", "x.typ"], "--template is for .pdf and the output is .svg"),
        (["-o", "x.pdf", "--neck"], "--neck is for .svg and the output is .pdf"),
        (["-o", "x.svg", "--neck"], "there is nothing to show on the neck; finger the piece"),
    ],
)
def test_wrong_calls(
    words: list[str], text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A wrong call ends with 2 and one line that says the way out; nothing is written."""
    monkeypatch.chdir(tmp_path)
    result = call("sheet", RIFF, *words)
    assert result.code == 2
    assert is_one_line(result.err)
    assert text in result.err
    assert not list(tmp_path.iterdir())


def test_a_file_that_is_no_score(tmp_path: Path) -> None:
    """A file that cannot be read is told by its name."""
    bad = tmp_path / "bad.musicxml"
    bad.write_text("<nothing/>")
    result = call("sheet", bad, "-o", tmp_path / "x.pdf")
    assert result.code == 2
    assert is_one_line(result.err)
    assert "bad.musicxml" in result.err


def test_every_sample_prints(tmp_path: Path) -> None:
    """Every sample makes a handout as it stands."""
    files = sorted(SAMPLES.glob("*.musicxml"))
    result = call("sheet", *files, "-o", tmp_path / "set.pdf", "--json")
    assert result.code == 0
    told = json.loads(result.out)
    assert [text for text in told["log"] if "7 songs" not in text] == []
    assert told["pages"] >= len(files)


def test_the_template_can_be_had(tmp_path: Path) -> None:
    """The shipped template is printed, and makes the same page when it is passed in."""
    shown = call("sheet", "--show-template")
    assert shown.code == 0
    mine = tmp_path / "mine.typ"
    mine.write_text(shown.out, encoding="utf-8")
    one, two = tmp_path / "one.pdf", tmp_path / "two.pdf"
    assert call("sheet", RIFF, "-o", one, "-q").code == 0
    assert call("sheet", RIFF, "-o", two, "-q", "--template", mine).code == 0
    assert one.read_bytes() == two.read_bytes()


@pytest.mark.parametrize("package", ["verovio", "typst"])
def test_a_missing_package(package: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the engraver or the typesetter one line says what to install."""
    monkeypatch.setitem(sys.modules, package, None)
    result = call("sheet", RIFF, "-o", tmp_path / "x.pdf")
    assert result.code == 2
    assert f"the package {package} is not installed; install it with pip" in result.err
