"""The plan: which songs and units there are, and what their keys hang on."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.songset.sets import RECIPES, SET, make_set, opened, song
from variants.errors import UsageError
from variants.songset.digest import versions
from variants.songset.plan import plan, slug, songs


def _keys(path: Path) -> dict[str, str]:
    return {unit.id: unit.key for one in plan(opened(path)) for unit in one.units}


def test_keys_hang_on_the_source_and_the_recipe(tmp_path: Path) -> None:
    """Another byte of the source changes its song's keys; another recipe its own; a name none."""
    path = make_set(tmp_path)
    before = _keys(path)
    assert len(set(before.values())) == 6
    (tmp_path / "songs" / "tune-1.musicxml").write_text(song("E4 E4 E4 E4"), encoding="utf-8")
    changed = {name for name, key in _keys(path).items() if key != before[name]}
    assert changed == {"tune-1/plain", "tune-1/tab", "tune-1/higher"}
    make_set(tmp_path, text=(SET + RECIPES).replace("M2", "m3"))
    changed = {name for name, key in _keys(path).items() if key != before[name]}
    assert changed == {"tune-1/higher", "tune-2/higher"}
    make_set(tmp_path, text=(SET + RECIPES).replace("Two tunes", "Tunes"))
    assert _keys(path) == before


def test_keys_hang_on_versions(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another toolkit or library changes every key, the engraver only those of what is drawn."""
    path = make_set(tmp_path, text=(SET + RECIPES).replace("pictures = false", "pictures = true"))
    name = "variants.songset.plan.versions"
    before = _keys(path)

    def newer(*, sheets: bool) -> dict[str, str]:
        return {**versions(sheets=sheets), **({"verovio": "99"} if sheets else {})}

    monkeypatch.setattr(name, newer)
    changed = {name for name, key in _keys(path).items() if key != before[name]}
    # Only the first variant of a song has a picture.
    assert changed == {"tune-1/plain", "tune-2/plain"}
    monkeypatch.setattr(name, lambda *, sheets: {"neckwise": f"99{sheets}"})
    assert not set(_keys(path).values()) & set(before.values())


def test_patterns_are_in_order_and_leave_named_songs_alone(tmp_path: Path) -> None:
    """A pattern yields its files by name; one with its own table comes in that table's place."""
    text = SET + '\n[[songs]]\nsource = "songs/tune-2.musicxml"\nname = "own"\n' + RECIPES
    path = make_set(tmp_path, text=text, songs=3)
    (tmp_path / "songs" / "note.txt").write_text("no score", encoding="utf-8")
    found = songs(opened(path))
    assert [(one.number, one.name, one.shown) for one in found] == [
        (1, "tune-1", "songs/tune-1.musicxml"),
        (2, "tune-3", "songs/tune-3.musicxml"),
        (3, "own", "songs/tune-2.musicxml"),
    ]


def test_outputs_are_no_sources(tmp_path: Path) -> None:
    """A pattern over all folders does not take what was made."""
    text = (SET + RECIPES).replace("songs/*.musicxml", "**/*.musicxml")
    path = make_set(tmp_path, text=text)
    made = tmp_path / "out" / "tune-1"
    made.mkdir(parents=True)
    (made / "tab.musicxml").write_text(song("E4 F4 G4 A4"), encoding="utf-8")
    assert [one.name for one in songs(opened(path))] == ["tune-1", "tune-2"]


def test_patterns_that_fit_nothing(tmp_path: Path) -> None:
    """A pattern without a file, and one from the root, are faults of their line."""
    path = make_set(tmp_path, text=(SET + RECIPES).replace("songs/*", "sogns/*"))
    with pytest.raises(UsageError, match=r"line 10: no score fits 'sogns/\*.musicxml'"):
        songs(opened(path))
    path = make_set(tmp_path, text=(SET + RECIPES).replace("songs/*", "/songs/*"))
    with pytest.raises(UsageError, match="line 10: a pattern begins at the folder"):
        songs(opened(path))


def test_two_songs_of_one_name(tmp_path: Path) -> None:
    """Two files of one name need a name each."""
    path = make_set(tmp_path, text=(SET + RECIPES).replace("songs/*", "**/*"))
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "Tune 1.musicxml").write_text(song("E4 F4 G4 A4"), encoding="utf-8")
    with pytest.raises(UsageError, match=r"are both called tune-1; give one of them"):
        songs(opened(path))


def test_slug_never_is_empty() -> None:
    """Names of files keep letters and digits, whatever the script."""
    assert slug("Ода к радости") == "ода-к-радости"
    assert slug("???") == "song"
