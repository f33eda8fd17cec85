"""The set that `neckwise new` writes: it builds at once, and writes over nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.songset.sets import opened, run, tree
from variants.errors import OutputError
from variants.songset.plan import plan
from variants.songset.starter import start


def test_it_builds_at_once(tmp_path: Path) -> None:
    """Every variant of both songs can be made, scores alone here to be quick."""
    files = start(tmp_path / "mine")
    assert files[0].name == "set.toml"
    text = files[0].read_text("utf-8")
    files[0].write_text(text.replace('["musicxml", "pdf"]', '["musicxml"]'), encoding="utf-8")
    assert run(files[0]).is_good
    made = [name for name in tree(tmp_path / "mine" / "out") if name.endswith(".musicxml")]
    assert len(made) == 9


def test_as_it_stands_it_makes_paper(tmp_path: Path) -> None:
    """As written, each variant is planned as a score and as paper."""
    files = start(tmp_path / "mine")
    kinds = {
        unit.spec.partition('"kinds":')[2][:18]
        for one in plan(opened(files[0]))
        for unit in one.units
    }
    assert kinds == {'["musicxml","pdf"]'}


def test_nothing_is_written_over(tmp_path: Path) -> None:
    """One file that is there already, and nothing at all is written."""
    folder = tmp_path / "mine"
    (folder / "songs").mkdir(parents=True)
    mine = folder / "songs" / "harbour-riff.musicxml"
    mine.write_text("mine", encoding="utf-8")
    with pytest.raises(OutputError, match="is there already, and is never written over"):
        start(folder)
    assert [path for path in folder.rglob("*") if path.is_file()] == [mine]
    assert mine.read_text("utf-8") == "mine"


def test_folders_that_cannot_be(tmp_path: Path) -> None:
    """A file in the folder's place, or no folder around it, is one line."""
    file = tmp_path / "file"
    file.touch()
    with pytest.raises(OutputError, match="is no folder"):
        start(file)
    with pytest.raises(OutputError, match="there is no folder"):
        start(tmp_path / "no" / "folder")
