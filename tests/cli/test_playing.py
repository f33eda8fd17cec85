"""`neckwise finger --alternatives` and `neckwise ways`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.calling import DUET, RIFF, call, is_one_line
from tests.xsd import validate
from variants.musicxml import read
from variants.score import Place, notes, onsets


def _places(path: Path) -> list[tuple[Place | None, str]]:
    return [(note.place, note.finger) for note in notes(read(path).parts[0])]


def _ways(*words: str | Path) -> list[dict[str, Any]]:
    done = call("ways", *words, "--json")
    assert (done.code, done.err) == (0, "")
    rows: list[dict[str, Any]] = json.loads(done.out)["ways"]
    return rows


def test_alternatives_differ(tmp_path: Path) -> None:
    """Three fingerings in three files: all different, all the same music, the best first."""
    out = tmp_path / "a.musicxml"
    done = call("finger", RIFF, "-o", out, "--alternatives", "3", "--json")
    assert (done.code, done.err) == (0, "")
    rows = json.loads(done.out)["ways"]
    files = [Path(row["output"]) for row in rows]
    assert [path.name for path in files] == ["a.musicxml", "a-2.musicxml", "a-3.musicxml"]
    assert [row["cost"] for row in rows] == sorted(row["cost"] for row in rows)
    assert len({tuple(_places(path)) for path in files}) == 3
    for path in files:
        assert validate(path.read_bytes()) == []
        assert onsets(read(path).parts[0]) == onsets(read(RIFF).parts[0])


def test_the_first_alternative_is_the_answer(tmp_path: Path) -> None:
    """The best of several is what `finger` alone gives."""
    one, many = tmp_path / "one.musicxml", tmp_path / "many.musicxml"
    assert call("finger", RIFF, "-o", one).code == 0
    assert call("finger", RIFF, "-o", many, "--alternatives", "2").code == 0
    assert _places(one) == _places(many)


def test_no_alternative_overwrites(tmp_path: Path) -> None:
    """If one of the files is somebody's, none is written."""
    out, mine = tmp_path / "a.musicxml", tmp_path / "a-2.musicxml"
    mine.write_text("mine", encoding="utf-8")
    done = call("finger", RIFF, "-o", out, "--alternatives", "2")
    assert done.code == 2
    assert is_one_line(done.err)
    assert not out.exists()
    assert mine.read_text(encoding="utf-8") == "mine"


def test_alternatives_need_files() -> None:
    """Several scores cannot go to one stream."""
    done = call("finger", RIFF, "-o", "-", "--alternatives", "2")
    assert (done.code, done.out) == (2, "")
    assert is_one_line(done.err)


def test_ways_of_the_riff() -> None:
    """Open position and the fifth fret are among the ways, and ranks follow the cost."""
    rows = _ways(RIFF, "--most", "99")
    assert [row["cost"] for row in rows] == sorted(row["cost"] for row in rows)
    positions = [(row["positions"], row["open_strings"]) for row in rows]
    assert any(name == "V" and not opens for name, opens in positions)
    assert any(name in {"I", "II"} and opens for name, opens in positions)
    assert all(row["sentence"] for row in rows)


def test_ways_are_really_different(tmp_path: Path) -> None:
    """Each way is written, valid, and has places or barres of its own."""
    folder = tmp_path / "ways"
    rows = _ways(RIFF, "-o", folder, "--most", "5")
    files = sorted(folder.iterdir())
    assert [str(path) for path in files] == [row["output"] for row in rows]
    assert len({tuple(_places(path)) for path in files}) == len(files) == 5
    assert all(validate(path.read_bytes()) == [] for path in files)


def test_ways_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    """The table fits 80 columns, says what was left out, and every way has its sentence."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(RIFF.parent)
    done = call("ways", RIFF.name, "--most", "3")
    assert done.code == 0
    assert max(map(len, done.out.splitlines())) <= 80
    assert "--most" in done.out
    assert "\n  3  position" in done.out


def test_ways_need_one_part(tmp_path: Path) -> None:
    """Two guitars are two hands."""
    for words in ((), ("--part", "all")):
        done = call("ways", DUET, *words)
        assert done.code == 2
        assert is_one_line(done.err)
    assert call("ways", DUET, "--part", "P2", "--most", "1").code == 0


def test_unplayable_has_no_way() -> None:
    """What no hand can play is refused with measure and beat."""
    done = call("ways", RIFF, "--tuning", "ukulele")
    assert done.code == 2
    assert is_one_line(done.err)
    assert "measure 1, beat 1" in done.err


def test_folder_is_a_folder(tmp_path: Path) -> None:
    """A file in place of the folder, and a folder that cannot be made, are refused."""
    file = tmp_path / "file"
    file.touch()
    for folder in (file, tmp_path / "none" / "deep"):
        done = call("ways", RIFF, "-o", folder, "--most", "1")
        assert done.code == 2
        assert is_one_line(done.err)
