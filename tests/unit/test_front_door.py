"""The front door: what it shows, that it says what the command says, and that it loads late."""

from __future__ import annotations

import io
import pickle
import re
import subprocess
import sys
from pathlib import Path
from typing import get_type_hints

import pytest

import cli
import variants
from tests.cli.calling import RIFF, ROOT, SAMPLES, call
from tests.unit.songset.sets import make_set, tree
from variants import front_door
from variants.errors import InputError, OutputError, UsageError
from variants.levels import Fit

TUNES = sorted(SAMPLES.glob("*.musicxml"))


def test_what_it_shows() -> None:
    """All of it is in `dir` and in `__all__`, under both names, documented and typed."""
    assert set(variants.__all__) <= set(dir(variants))
    assert sorted(cli.__all__) == sorted(variants.__all__)
    assert variants.__version__ == cli.__version__
    for name in variants.__all__:
        found = getattr(variants, name)
        assert getattr(cli, name) == found
        if callable(found) and found.__module__ == "variants.front_door":
            assert "Raises:" in (found.__doc__ or ""), name
            assert found.__annotations__["return"], name
    with pytest.raises(AttributeError, match="has no attribute 'nothing'"):
        _ = variants.nothing


def test_nothing_is_loaded_before_it_is_asked_for() -> None:
    """Importing the door, and looking at it, loads none of the library."""
    code = (
        "import sys, variants; dir(variants); variants.__version__; variants.NeckwiseError\n"
        "print(*[n for n in sys.modules if n.startswith('variants.')])\n"
        "variants.read\n"
        "print(*[n for n in ('lxml', 'music21', 'numpy', 'verovio') if n in sys.modules])\n"
    )
    done = subprocess.run(  # noqa: S603 - our own code
        [sys.executable, "-c", code], capture_output=True, cwd=ROOT, check=True, text=True
    )
    assert done.stdout.split("\n") == ["variants.errors", "", ""]


@pytest.mark.parametrize("path", TUNES, ids=lambda path: path.stem)
def test_the_same_bytes_as_the_command(path: Path, tmp_path: Path) -> None:
    """Read, vary and write give the file that the command gives, or the same refusal."""
    words = ("--position", "5", "--hand", "large", "--staves", "tab")
    mine, other = tmp_path / "mine.musicxml", tmp_path / "other.musicxml"
    done = call("vary", path, "-s", "transpose:interval=M2", *words, "-o", other)
    score = variants.read(path)
    if done.code:
        with pytest.raises(variants.NeckwiseError) as error:
            variants.vary(score, "transpose:interval=M2", position=5, hand="large", staves="tab")
        assert str(error.value.at(str(path))) in done.err
        return
    made = variants.vary(score, "transpose:interval=M2", position=5, hand="large", staves="tab")
    variants.write(made, mine, staves="tab")
    assert mine.read_bytes() == other.read_bytes()


def test_sources(tmp_path: Path) -> None:
    """A path, its text, bytes, text and open files, compressed or not, are one score."""
    data = RIFF.read_bytes()
    packed = tmp_path / "riff.mxl"
    variants.write(variants.read(RIFF), packed, force=False)
    with RIFF.open("rb") as binary, RIFF.open(encoding="utf-8") as text:
        found = [
            variants.read(one)
            for one in (RIFF, str(RIFF), data, data.decode(), binary, text, io.BytesIO(data))
        ]
    assert len(set(found)) == 1
    assert variants.read(packed).title == found[0].title
    assert pickle.loads(pickle.dumps(found[0])) == found[0]  # noqa: S301 - our own
    assert repr(found[0]) == "Score('Harbour Riff', 1 part, 2 measures)"
    tune = "X:7\nT:Seven\nM:4/4\nL:1/4\nK:C\nCDEF|]\n"
    assert variants.read(tune).title == "Seven"
    assert variants.read(tune.encode(), name="a.abc", tune="7").title == "Seven"


def test_errors_are_ours(tmp_path: Path) -> None:
    """What is wrong is one line with a way out, wherever it comes from."""
    with pytest.raises(InputError, match=r"nothing.xml: cannot be read: .*; check the name"):
        variants.read(tmp_path / "nothing.xml")
    with pytest.raises(InputError, match=r"mine.xml.*damaged.*; export or download the file again"):
        variants.read("<score-partwise>", name="mine.xml")
    with pytest.raises(UsageError, match="no option 'possition'; there are staves, marks"):
        variants.finger(variants.read(RIFF), possition=5)  # type: ignore[call-arg]
    with pytest.raises(UsageError, match=r"no step 'transpos'; .*transpose"):
        variants.vary(variants.read(RIFF), "transpos")
    theirs = tmp_path / "theirs.musicxml"
    theirs.write_text("<score-partwise/>", encoding="utf-8")
    with pytest.raises(OutputError, match="neckwise did not write it"):
        variants.write(variants.read(RIFF), theirs)
    assert theirs.read_text(encoding="utf-8") == "<score-partwise/>"


def test_the_other_calls(tmp_path: Path) -> None:
    """Finger, ways, fit, proofread, sheet, build: each does what its command does."""
    score = variants.read(RIFF)
    fingered = variants.finger(score, hand="small")
    assert fingered.hands
    assert variants.proofread(fingered).is_clean
    assert variants.proofread(RIFF).is_clean
    assert len(variants.ways(score)) > 1
    fit = variants.fit(score, "level-3")
    assert isinstance(fit, Fit)
    assert fit.level.name == "level-3"
    assert variants.sheet([fingered, fit.variant], names=["one", "two"]).startswith(b"%PDF")
    assert b"<html" in variants.sheet(fingered, kind="html")
    (made,) = variants.vary(score, variants.step("capo:fret=2")).steps
    assert made == variants.step("capo:fret=2")
    here, there = make_set(tmp_path / "a", songs=1), make_set(tmp_path / "b", songs=1)
    assert variants.build(here).is_good
    assert call("build", there, "--jobs", "1").code == 0
    assert tree(tmp_path / "a" / "out") == tree(tmp_path / "b" / "out")


def test_options_are_those_of_the_command() -> None:
    """Every option of a player is an option of `neckwise vary`, by the same word."""
    told = call("vary", "--help").out
    for name in get_type_hints(front_door.PlayerOptions):
        word = {"marks": "mark"}.get(name, name)
        assert re.search(rf"--{word.replace('_', '-')}[ ,]", told), name
