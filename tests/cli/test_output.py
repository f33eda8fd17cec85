"""Where and how files are written: whole or not at all, and never over somebody's work."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.calling import RIFF, ROOT, call, call_apart, is_one_line
from variants.files import is_ours


def _refused(*words: str | Path, said: str) -> None:
    done = call("vary", *words)
    assert (done.code, done.out) == (2, "")
    assert is_one_line(done.err)
    assert said in done.err


def test_folder_missing(tmp_path: Path) -> None:
    """The folder is not made on the quiet."""
    _refused(RIFF, "-o", tmp_path / "none" / "a.xml", said="there is no folder")
    assert list(tmp_path.iterdir()) == []


def test_folder_given(tmp_path: Path) -> None:
    """A folder is no output, whatever it is called."""
    folder = tmp_path / "folder.xml"
    folder.mkdir()
    _refused(RIFF, "-o", folder, said="is a folder")


@pytest.mark.parametrize("name", ["a.pdf", "a", "a.mid", "a.musicxml.txt"])
def test_ending(name: str, tmp_path: Path) -> None:
    """The ending must say MusicXML, so that nobody takes the file for something else."""
    _refused(RIFF, "-o", tmp_path / name, said=".musicxml")


def test_same_file(tmp_path: Path) -> None:
    """The source is never overwritten, by its name or by a link to it, even with --force."""
    source = tmp_path / "a.musicxml"
    source.write_bytes(RIFF.read_bytes())
    link = tmp_path / "b.musicxml"
    link.symlink_to(source)
    for out in (source, link):
        _refused(source, "-o", out, "--force", said="the same file")
    assert source.read_bytes() == RIFF.read_bytes()


@pytest.mark.parametrize("data", [b"", b"mine", b"PK\x03\x04 no zip", RIFF.read_bytes()])
def test_not_ours(data: bytes, tmp_path: Path) -> None:
    """A file that neckwise did not write is left alone unless --force says otherwise."""
    out = tmp_path / "a.musicxml"
    out.write_bytes(data)
    _refused(RIFF, "-o", out, said="--force")
    assert out.read_bytes() == data
    assert call("vary", RIFF, "-o", out, "--force").code == 0
    assert is_ours(out)


@pytest.mark.parametrize("name", ["a.musicxml", "a.xml", "a.mxl", "A.MXL"])
def test_ours_is_renewed(name: str, tmp_path: Path) -> None:
    """What neckwise wrote, compressed or not, it may write again; the bytes are the same."""
    out = tmp_path / name
    assert call("vary", RIFF, "-o", out).code == 0
    first = out.read_bytes()
    assert (first[:2] == b"PK") == name.lower().endswith(".mxl")
    assert call("vary", RIFF, "-o", out).code == 0
    assert out.read_bytes() == first
    assert list(tmp_path.iterdir()) == [out]


def test_link_is_followed(tmp_path: Path) -> None:
    """A link to an output of ours stays a link; the file behind it is renewed."""
    real, link = tmp_path / "real.musicxml", tmp_path / "link.musicxml"
    assert call("vary", RIFF, "-o", real).code == 0
    link.symlink_to(real)
    assert call("vary", RIFF, "-s", "invert-dyads", "-o", link).code == 0
    assert link.is_symlink()
    assert is_ours(real)


def test_rights_are_kept(tmp_path: Path) -> None:
    """A new file has the usual rights of new files; a renewed one keeps those that it had."""
    out, usual = tmp_path / "a.musicxml", tmp_path / "usual"
    usual.touch()
    assert call("vary", RIFF, "-o", out).code == 0
    assert out.stat().st_mode == usual.stat().st_mode
    out.chmod(0o640)
    assert call("vary", RIFF, "-o", out).code == 0
    assert out.stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("name", ["fsync", "open"])
@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EACCES, errno.EROFS])
def test_system_refuses(
    name: str, number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A full disk or missing rights leave the old file whole and no temporary one behind."""
    out = tmp_path / "a.musicxml"
    assert call("vary", RIFF, "-o", out).code == 0
    before = out.read_bytes()

    def fail(*_: object) -> int:
        raise OSError(number, os.strerror(number))

    with monkeypatch.context() as patch:
        patch.setattr(f"cli.output.os.{name}", fail)
        _refused(RIFF, "-s", "invert-dyads", "-o", out, said="cannot be written")
    assert out.read_bytes() == before
    assert list(tmp_path.iterdir()) == [out]


def test_stopped_while_writing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C in the middle of writing: one line, 130 as shells expect, nothing left behind."""

    def stop(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("cli.output.os.fsync", stop)
    done = call("vary", RIFF, "-o", tmp_path / "a.musicxml")
    assert done.code == 130
    assert is_one_line(done.err)
    assert list(tmp_path.iterdir()) == []


def test_stopped_by_the_user(tmp_path: Path) -> None:
    """Ctrl-C to the program itself: one line, 130, nothing written, no traceback."""
    code = (
        "import os, signal, cli.write_variants\n"
        # A shell starts what runs in the background deaf to Ctrl-C.
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "cli.write_variants.load_score = lambda name: os.kill(os.getpid(), signal.SIGINT)\n"
        "from cli.main import main; main()\n"
    )
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", code, "vary", str(RIFF), "-o", str(tmp_path / "a.xml")],
        capture_output=True,
        cwd=ROOT,
        check=False,
        timeout=60,
    )
    assert done.returncode == 130
    assert is_one_line(done.stderr.decode())
    assert list(tmp_path.iterdir()) == []


def test_standard_output(tmp_path: Path) -> None:
    """With -o - the score alone is on standard output and the report on standard error."""
    done = call("vary", RIFF, "-o", "-")
    assert done.code == 0
    assert done.out.startswith("<?xml")
    assert done.out.endswith("</score-partwise>\n")
    assert "A minor" in done.err
    out = tmp_path / "a.musicxml"
    assert call("vary", RIFF, "-o", out).code == 0
    assert out.read_text(encoding="utf-8") == done.out


def test_pipe() -> None:
    """Two calls in a row: what one writes the other reads from standard input."""
    first = call_apart("vary", RIFF, "-s", "transpose:interval=M2", "-o", "-", "-q")
    assert first.err == ""
    second = call_apart("describe", "-", stdin=first.out.encode())
    assert second.code == 0
    assert "B minor" in second.out


def test_closed_pipe() -> None:
    """Whoever reads may stop reading: no traceback, no message."""
    program = [sys.executable, "-c", "from cli.main import main; main()", "list", "steps"]
    with subprocess.Popen(  # noqa: S603 - our own command
        program, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(timeout=60) in (0, 141)
