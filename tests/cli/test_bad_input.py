"""Bad input: exit 2, one line on stderr, nothing written, an existing output untouched."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.cli.calling import DUET, RIFF, call, call_apart, is_one_line

HEAD = '<score-partwise version="4.0"><part-list><score-part id="P1"><part-name/></score-part>'
HEAD += '</part-list><part id="P1"><measure number="1">'
TAIL = "</measure></part></score-partwise>"
NOTE = "<note><pitch><step>E</step><octave>3</octave></pitch><duration>{}</duration></note>"
DIVISIONS = "<attributes><divisions>{}</divisions></attributes>"
BOMB = "".join(
    f'<!ENTITY a{i} "{f"&a{i - 1};" * 10 if i else "ha" * 10}">' for i in range(9)
)  # each entity holds ten of the one before it


def _score(inside: str, before: str = "") -> bytes:
    return f'<?xml version="1.0"?>{before}{HEAD}{inside}{TAIL}'.encode()


def _zip(*members: tuple[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members:
            archive.writestr(name, data)
    return buffer.getvalue()


def _container(path: str) -> tuple[str, bytes]:
    text = f'<container><rootfiles><rootfile full-path="{path}"/></rootfiles></container>'
    return "META-INF/container.xml", text.encode()


GOOD_NOTE = _score(DIVISIONS.format(1) + NOTE.format(4))
BAD: dict[str, tuple[str, bytes]] = {
    "empty": ("a.musicxml", b""),
    "not XML": ("a.musicxml", b"just some words\n"),
    "binary": ("a.musicxml", bytes(range(256))),
    "cut XML": ("a.musicxml", GOOD_NOTE[:-40]),
    "HTML": ("a.xml", b"<!DOCTYPE html><html><body>sign in</body></html>"),
    "wrong root": ("a.xml", b"<?xml version='1.0'?><opus/>"),
    "entity bomb": ("a.xml", _score("&a8;", f"<!DOCTYPE score-partwise [{BOMB}]>")),
    "external entity": (
        "a.xml",
        _score("&x;", '<!DOCTYPE score-partwise [<!ENTITY x SYSTEM "file:///etc/passwd">]>'),
    ),
    "zip without a score": ("a.mxl", _zip(("readme.txt", b"hello"))),
    "cut zip": ("a.mxl", _zip(("score.xml", GOOD_NOTE))[:-30]),
    "mxl that names a missing file": ("a.mxl", _zip(_container("score.xml"))),
    "mxl that points outside": (
        "a.mxl",
        _zip(_container("../../etc/passwd"), ("../../etc/passwd", GOOD_NOTE)),
    ),
    "zero divisions": ("a.xml", _score(DIVISIONS.format(0) + NOTE.format(4))),
    "missing divisions": ("a.xml", _score(NOTE.format(4))),
    "divisions that are no number": ("a.xml", _score(DIVISIONS.format("x") + NOTE.format(4))),
    "negative duration": ("a.xml", _score(DIVISIONS.format(1) + NOTE.format(-4))),
    "backup before the measure": (
        "a.xml",
        _score(DIVISIONS.format(1) + NOTE.format(4) + "<backup><duration>9</duration></backup>"),
    ),
    "no measures": (
        "a.xml",
        b"<score-partwise><part-list/></score-partwise>",
    ),
    "too deep": ("a.xml", _score("<x>" * 5000 + "</x>" * 5000)),
}


@pytest.fixture
def earlier(tmp_path: Path) -> Iterator[Path]:
    """Give an output that neckwise wrote before, and check that it is as it was."""
    out = tmp_path / "out.musicxml"
    assert call("vary", RIFF, "-o", out, "-q").code == 0
    before = out.read_bytes()
    files = sorted(tmp_path.iterdir())
    yield out
    assert out.read_bytes() == before
    assert [path for path in sorted(tmp_path.iterdir()) if path.suffix == ".tmp"] == []
    assert set(files) <= set(tmp_path.iterdir())


@pytest.mark.parametrize("name", BAD)
def test_bad_file(name: str, earlier: Path) -> None:
    """A file that is no score, or a damaged or hostile one, is refused by every command."""
    file, data = BAD[name]
    source = earlier.parent / file
    source.write_bytes(data)
    for words in (("vary", source, "-o", earlier), ("describe", source)):
        done = call(*words)
        assert (done.code, done.out) == (2, "")
        assert is_one_line(done.err)
        assert str(source) in done.err


@pytest.mark.slow
def test_unpacks_to_gigabytes(earlier: Path) -> None:
    """A small .mxl that unpacks to more than any score needs is refused before it does."""
    source = earlier.parent / "bomb.mxl"
    zeros = b" " * 2**20
    with (
        zipfile.ZipFile(source, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive,
        archive.open("score.xml", "w") as member,
    ):
        for _ in range(300):
            member.write(zeros)
    assert source.stat().st_size < 2 * 2**20
    done = call("vary", source, "-o", earlier)
    assert (done.code, done.out) == (2, "")
    assert is_one_line(done.err)
    assert "unpacks to more than" in done.err


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("-s", "tranpose:interval=m3"), "did you mean transpose?"),
        (("-s", "transpose:intervall=m3"), "did you mean interval?"),
        (("-s", "transpose:interval=z3"), "no interval"),
        (("-s", "transpose"), "not told how far"),
        (("--tuning", "drop-e"), "did you mean drop-d"),
        (("--tuning", "E2-H2-D3"), "H2"),
        (("--tuning", "E12-E12"), "E12"),
        (("--capo", "40"), "no capo fits at fret 40"),
        (("--capo", "-1"), "capo"),
        (("--capo", "9"), "measure 1, beat 1"),
        (("--frets", "1"), "measure 1"),
        (("--frets", "99"), "99 frets"),
        (("--scale", "tiny"), "3/4"),
        (("--scale", "5"), "5 mm"),
        (("--part", "Bassoon"), "Bassoon"),
        (("--staves", "four"), "'four'"),
        (("--position", "99"), "position"),
        (("--reading", "aloud"), "aloud"),
        (("--mark", "fingerings"), "did you mean fingering?"),
        (("--loud",), "--loud"),
    ],
)
def test_bad_call(words: tuple[str, ...], said: str, earlier: Path) -> None:
    """A wrong step, parameter, tuning, capo, part or option is refused with a way out."""
    done = call("vary", RIFF, "-o", earlier, *words)
    assert (done.code, done.out) == (2, "")
    assert is_one_line(done.err)
    assert said in done.err


def test_several_parts(earlier: Path) -> None:
    """Of two guitar parts none is taken in silence; the refusal lists both."""
    done = call("vary", DUET, "-o", earlier)
    assert done.code == 2
    assert is_one_line(done.err)
    assert "P1 (Guitar 1), P2 (Guitar 2)" in done.err


def test_missing_source(earlier: Path) -> None:
    """A file that is not there, and a folder in its place."""
    for source in (earlier.parent / "none.xml", earlier.parent):
        done = call("vary", source, "-o", earlier)
        assert done.code == 2
        assert is_one_line(done.err)


@pytest.mark.parametrize("words", [(), ("-o", "")])
def test_no_output(words: tuple[str, ...]) -> None:
    """A call without an output name is wrong."""
    done = call("vary", RIFF, *words)
    assert done.code == 2
    assert is_one_line(done.err)


def test_unknown_command() -> None:
    """An unknown command gets one line that suggests the right one."""
    done = call("vray")
    assert done.code == 2
    assert is_one_line(done.err)
    assert "vary" in done.err


@pytest.mark.parametrize("name", ["empty", "HTML", "entity bomb", "mxl that points outside"])
def test_bad_file_apart(name: str, earlier: Path) -> None:
    """The same holds for the program as a shell runs it: no traceback, exit 2."""
    file, data = BAD[name]
    source = earlier.parent / file
    source.write_bytes(data)
    done = call_apart("vary", source, "-o", earlier)
    assert (done.code, done.out) == (2, "")
    assert is_one_line(done.err)
