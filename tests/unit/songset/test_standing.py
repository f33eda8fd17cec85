"""What `build --check` and `build --plan` see, and that looking writes nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.songset.sets import RECIPES, SET, make_set, opened, run, song, tree
from variants.errors import UsageError
from variants.songset.build import Options
from variants.songset.standing import check


def _states(path: Path) -> list[tuple[str, str, str]]:
    return [(one.unit, one.state, one.path) for one in check(opened(path))]


def _all(folder: Path) -> dict[str, bytes]:
    return {str(p): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_nothing_to_say_after_a_build(tmp_path: Path) -> None:
    """What was just built is as it should be."""
    path = make_set(tmp_path)
    run(path)
    assert _states(path) == []


def test_new_set(tmp_path: Path) -> None:
    """Before the first build every unit is new, and looking makes no folder."""
    path = make_set(tmp_path, songs=1)
    assert [state for _, state, _ in _states(path)] == ["new", "new", "new"]
    assert not (tmp_path / "out").exists()


def test_stale_missing_edited_left_over(tmp_path: Path) -> None:
    """Each fault is told with the output that it is about; not a byte is written."""
    path = make_set(tmp_path, songs=4)
    run(path)
    text = song("E4 F4 G4 A4", title="Tune 1")
    (tmp_path / "songs" / "tune-1.musicxml").write_text(text, encoding="utf-8")
    (tmp_path / "out" / "tune-2" / "tab.musicxml").unlink()
    (tmp_path / "out" / "tune-3" / "tab.musicxml").write_text("mine", encoding="utf-8")
    (tmp_path / "songs" / "tune-4.musicxml").unlink()
    before = _all(tmp_path)
    assert _states(path) == [
        *((f"tune-1/{v}", "stale", f"tune-1/{v}.musicxml") for v in ("plain", "tab", "higher")),
        ("tune-2/tab", "missing", "tune-2/tab.musicxml"),
        ("tune-3/tab", "edited", "tune-3/tab.musicxml"),
        *((f"tune-4/{v}", "left over", f"tune-4/{v}.musicxml") for v in ("plain", "tab", "higher")),
    ]
    assert _all(tmp_path) == before


def test_committed_outputs_need_no_cache(tmp_path: Path) -> None:
    """What a fresh clone has, outputs and manifest alone, can be checked."""
    path = make_set(tmp_path)
    run(path)
    for one in sorted((tmp_path / "out" / ".neckwise").rglob("*"), reverse=True):
        if one.is_file():
            one.unlink()
        else:
            one.rmdir()
    (tmp_path / "out" / ".neckwise").rmdir()
    assert _states(path) == []
    assert not (tmp_path / "out" / ".neckwise").exists()


def test_reports_are_checked(tmp_path: Path) -> None:
    """A report that is missing or edited is told, and one that tells of another title is stale."""
    path = make_set(tmp_path)
    run(path)
    (tmp_path / "out" / "index.html").unlink()
    (tmp_path / "out" / "report.json").write_text("{}", encoding="utf-8")
    assert _states(path) == [
        ("/report", "missing", "index.html"),
        ("/report", "edited", "report.json"),
    ]
    run(path, options=Options(force=True))
    path.write_text((SET + RECIPES).replace("Two tunes", "Tunes"), encoding="utf-8")
    assert ("/report", "stale", "report.json") in _states(path)


def test_refused_and_unreadable(tmp_path: Path) -> None:
    """What cannot be made, and what cannot be read, is no clean answer."""
    text = SET.replace("[[songs]]", '[[songs]]\nsource = "gone.musicxml"\n\n[[songs]]')
    high = '[variants.string]\nsteps = ["single-string:string=1,move=never"]\n'
    path = make_set(tmp_path, text=text + high)
    run(path)
    found = _states(path)
    assert found[0] == ("gone", "unreadable", "gone.musicxml")
    assert {state for _, state, _ in found[1:]} <= {"refused"}
    assert len(found) == 3


def test_two_outputs_of_one_name(tmp_path: Path) -> None:
    """A pattern by which two variants would be one file is refused before anything is made."""
    text = SET.replace("pictures", 'names = "{song}-{variant}"\npictures')
    path = make_set(tmp_path, text=text + RECIPES + '[variants.a-plain]\nstaves = "tab"\n')
    for name in ("x", "x-a"):
        (tmp_path / "songs" / f"{name}.musicxml").write_text(song("E4 F4 G4 A4"), encoding="utf-8")
    with pytest.raises(UsageError, match=r"x-a/plain and x/a-plain would be written to one file"):
        run(path)
    assert not [name for name in tree(tmp_path / "out") if name.endswith(".musicxml")]


def test_the_name_of_the_index_page_is_kept(tmp_path: Path) -> None:
    """No variant may take the name of the index page."""
    text = SET.replace("pictures", 'names = "{song}{variant}"\npictures')
    path = make_set(tmp_path, text=text + '[variants.dex]\nstaves = "tab"\n', songs=0)
    (tmp_path / "songs" / "in.musicxml").write_text(song("E4 F4 G4 A4"), encoding="utf-8")
    with pytest.raises(UsageError, match="the index page and in/dex would be written to one file"):
        run(path)
