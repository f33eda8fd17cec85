"""What a shell and a system can do to a call: closed streams, odd names, no folder."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.calling import RIFF, ROOT, call, is_one_line
from tests.unit.songset.sets import RECIPES, SET, make_set

pytestmark = pytest.mark.skipif(os.name != "posix", reason="the calls go through a POSIX shell")
PROGRAM = f"{shlex.quote(sys.executable)} -m neckwise"
SCORE = shlex.quote(str(RIFF))


def _shell(line: str, folder: Path) -> tuple[int, str]:
    """Return exit code and standard error of a line, ``neckwise`` in it being the program."""
    done = subprocess.run(  # noqa: S602 - what the shell does to the call is what is tested
        line.replace("neckwise ", f"{PROGRAM} ", 1),
        shell=True,
        cwd=folder,
        env={**os.environ, "PYTHONPATH": f"{ROOT}:{ROOT / 'editable'}", "LC_ALL": "C.UTF-8"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        check=False,
        timeout=60,
    )
    return done.returncode, done.stderr.decode("utf-8", "replace")


@pytest.mark.parametrize(
    ("line", "cause", "way_out"),
    [
        (f"neckwise describe {SCORE} >&-", "standard output: is closed", "send it somewhere"),
        ("neckwise --help >&-", "standard output: is closed", "send it somewhere"),
        ("neckwise list tunings --json >&-", "standard output: is closed", "send it somewhere"),
        (f"neckwise vary {SCORE} -o - >&-", "standard output: is closed", "send it somewhere"),
        ("neckwise describe - <&-", "standard input: is closed", "pipe a score into it"),
        ("neckwise proof - <&-", "standard input: is closed", "pipe a score into it"),
        (f"neckwise describe {SCORE} >/dev/full", "no space left on device", "the disk"),
        (f"neckwise vary {SCORE} -o - >/dev/full", "no space left on device", "the disk"),
    ],
)
def test_streams(line: str, cause: str, way_out: str, tmp_path: Path) -> None:
    """A standard stream that is closed, or full, is one line and exit code 2."""
    code, said = _shell(line, tmp_path)
    assert (code, is_one_line(said)) == (2, True), said
    assert cause in said
    assert way_out in said


def test_a_closed_stream_is_no_file(tmp_path: Path) -> None:
    """A file that is written never takes the place of a closed stream, and --quiet needs none."""
    assert _shell(f"neckwise vary {SCORE} -o a.xml --quiet >&- <&-", tmp_path) == (0, "")
    assert (tmp_path / "a.xml").read_bytes().endswith(b"</score-partwise>\n")
    assert _shell("neckwise describe nothing.xml 2>&-", tmp_path) == (2, "")
    assert _shell(f"neckwise vary {SCORE} -o b.xml >&- 2>&-", tmp_path)[0] == 2
    assert (tmp_path / "b.xml").read_bytes() == (tmp_path / "a.xml").read_bytes()


@pytest.mark.parametrize(
    "words",
    [
        f"vary {SCORE} -o a.xml",
        f"sheet {SCORE} -o a.svg",
        f"ways {SCORE} -o ways",
        "new set",
    ],
)
def test_no_folder_to_work_in(words: str, tmp_path: Path) -> None:
    """The folder in which one stands was removed."""
    code, said = _shell(f"mkdir gone && cd gone && rmdir ../gone && neckwise {words}", tmp_path)
    assert code == 2
    assert said == "neckwise: the folder that you work in is gone; change into another one\n"


@pytest.mark.parametrize("shape", ["text", "json", "sarif", "junit", "github"])
def test_a_name_that_is_no_text(shape: str, tmp_path: Path) -> None:
    """A file name of bytes that are no UTF-8 is shown as well as can be, in every format."""
    name = os.fsdecode(b"tune-\xff.musicxml")
    path = tmp_path / name
    path.write_bytes(RIFF.read_bytes())
    done = call("proof", path, "--format", shape)
    assert (done.code, done.err) == (0, "")
    if shape == "junit":
        root = etree.fromstring(done.out.encode())
        assert root[0].get("name") == str(tmp_path / "tune-?.musicxml")
    if shape == "sarif":
        json.loads(done.out)


@pytest.mark.parametrize(
    ("text", "cause"),
    [
        ("a\0b.musicxml", "is no name of a file"),
        ("a\\u0000b.musicxml", "is no name of a file"),
    ],
)
def test_nul_in_a_name(text: str, cause: str, tmp_path: Path) -> None:
    """NUL ends a name for the system: in a call, and in a set file."""
    if "\0" in text:
        for words in (("describe", text), ("vary", RIFF, "-o", text), ("build", text)):
            done = call(*words)
            assert (done.code, done.err) == (
                2,
                "neckwise: a word of the call has a NUL in it; leave it out\n",
            )
        return
    song = SET.replace('"songs/*.musicxml"', f'"{text}"\nrecipes = ["plain"]')
    done = call("build", make_set(tmp_path, text=song + RECIPES), "--jobs", "1")
    assert done.code == 1
    assert cause in done.out
    assert "check the name" in done.out


LONG = "9" * 5000


@pytest.mark.parametrize(
    "words",
    [
        ("vary", RIFF, "-o", "a.xml", "--capo", LONG),
        ("vary", RIFF, "-o", "a.xml", "--scale", LONG),
        ("vary", RIFF, "-o", "a.xml", "--tuning", f"E{LONG}"),
        ("vary", RIFF, "-o", "a.xml", "--hand", LONG),
        ("vary", RIFF, "-o", "a.xml", "--part", LONG),
        ("vary", RIFF, "-o", "a.xml", "-s", f"transpose:semitones={LONG}"),
        ("vary", RIFF, "-o", "a.xml", "-s", f"transpose:interval=m{LONG}"),
        ("vary", RIFF, "-o", "a.xml", "-s", f"measures:range={LONG}"),
        ("vary", RIFF, "-o", f"{LONG}.xml"),
        ("fit", RIFF, "-o", "a.xml", "--level", "level-1", "--weights", f"key={LONG}"),
        ("ways", RIFF, "--most", LONG),
        ("sheet", RIFF, "-o", "a.svg", "--measures", LONG),
        ("describe", f"{RIFF}#{LONG}"),
        ("build", "long.toml"),
        ("vary", RIFF, "-o", "a.xml", "--recipe", "long.toml"),
        ("fit", RIFF, "-o", "a.xml", "--level", "long.toml"),
        ("proof", RIFF, "--config", "long.toml"),
    ],
    ids=lambda words: " ".join(map(str, (words[0], *words[2:])))[:40],
)
def test_a_number_of_5000_digits(
    words: tuple[str | Path, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Python itself reads no more than 4,300 digits; the line that says it can be read."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "long.toml").write_text(f"capo = {LONG}\n", encoding="utf-8")
    done = call(*words)
    assert done.code == 2
    assert is_one_line(done.err)
    assert "; " in done.err
    assert len(done.err) < 600
    assert "defect" not in done.err
    assert sorted(one.name for one in tmp_path.iterdir()) == ["long.toml"]


def test_a_long_number_among_the_limits(monkeypatch: pytest.MonkeyPatch) -> None:
    """The variable of the limits is read as everything else."""
    monkeypatch.setenv("NECKWISE_LIMITS", f"notes={LONG}")
    done = call("describe", RIFF)
    assert done.code == 2
    assert "the limit notes is '999" in done.err
    assert "give a whole number above 0" in done.err


OUTPUTS = (
    ("vary", RIFF),
    ("finger", RIFF),
    ("ways", RIFF),
    ("fit", RIFF, "--level", "level-2"),
    ("sheet", RIFF),
    ("proof", RIFF, "--fix"),
    ("build", "set.toml"),
)


@pytest.mark.parametrize("words", OUTPUTS, ids=lambda words: words[0])
def test_an_empty_output_name(words: tuple[str | Path, ...]) -> None:
    """A script's unset variable is no name, and never the folder that one works in."""
    done = call(*words, "-o", "")
    assert done.code == 2
    assert done.err == (
        f"neckwise: invalid value for '-o' / '--out': the name is empty; see neckwise {words[0]} "
        "--help\n"
    )


@pytest.mark.parametrize("words", OUTPUTS, ids=lambda words: words[0])
def test_odd_output_names(
    words: tuple[str | Path, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A link that leads to itself, and a name that Windows keeps, are refused and stay."""
    monkeypatch.chdir(tmp_path)
    make_set(tmp_path, songs=1)
    ending = {"sheet": ".svg", "ways": "", "build": ""}.get(str(words[0]), ".musicxml")
    link = tmp_path / f"loop{ending}"
    link.symlink_to(link.name)
    done = call(*words, "-o", link.name)
    assert (done.code, is_one_line(done.err)) == (2, True), done
    assert link.is_symlink()
    if ending:
        assert "is a link that leads round; remove the link" in done.err
        for name in ("CON", "nul", "Com7"):
            done = call(*words, "-o", f"{name}{ending}")
            assert done.code == 2
            assert f"{name} is a name that Windows keeps for a device; choose another" in done.err
            assert not (tmp_path / f"{name}{ending}").exists()


def test_a_set_makes_no_device(tmp_path: Path) -> None:
    """A song called con gets another name by itself; a name that the set gives is refused."""
    path = make_set(tmp_path, songs=1)
    (tmp_path / "songs" / "tune-1.musicxml").rename(tmp_path / "songs" / "CON.musicxml")
    assert "con-song/plain" in call("build", path, "--plan").out
    song = SET.replace('"songs/*.musicxml"', '"songs/CON.musicxml"\nname = "aux"')
    path.write_text(song + RECIPES, encoding="utf-8")
    done = call("build", path, "--plan")
    assert done.code == 2
    assert "Windows keeps aux for a device; change names under [build]" in done.err


def test_fix_says_what_it_does_not_mend(tmp_path: Path) -> None:
    """Other notations have no page to mend; the way out is one that works."""
    tune = tmp_path / "tune.abc"
    tune.write_text("X:1\nT:Up\nM:4/4\nL:1/4\nK:C\nCDEF|GABc|]\n", encoding="utf-8")
    done = call("proof", tune, "--fix", "-o", tmp_path / "fixed.musicxml")
    assert done.code == 2
    assert "tune.abc: is ABC, and --fix mends MusicXML as it is written; make MusicXML" in done.err
    told = shlex.split(done.err.rpartition("make MusicXML of it: ")[2])
    assert told[:2] == ["neckwise", "vary"]
    made = tmp_path / told[-1]
    assert call(*told[1:-1], made).code == 0
    assert call("proof", made).code == 0
    # As a source to compare with it is read like every other one.
    compared = call("proof", made, "--against", tune)
    assert compared.code == 0
    assert "0 moments sound other notes" in compared.out
