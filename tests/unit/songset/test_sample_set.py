"""The sample set: schema, proofreading, and that every variant of it can be made."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.unit.songset.sets import opened, run
from tests.xsd import validate
from variants.proof import proofread
from variants.songset.load import parse_set
from variants.songset.plan import plan

ROOT = Path(__file__).parents[3]
SET = ROOT / "samples" / "set" / "set.toml"
SONGS = sorted((SET.parent / "songs").glob("*.musicxml"))


@pytest.mark.parametrize("song", SONGS, ids=lambda path: path.stem)
def test_songs_are_right(song: Path) -> None:
    """Each song is valid against the W3C schema, and the proofreader finds nothing at all."""
    assert validate(song.read_bytes()) == []
    assert proofread(song).findings == ()


def test_songs_say_where_they_come_from() -> None:
    """Every song names its maker or its tradition, and that it was written from memory."""
    for song in SONGS:
        text = song.read_text(encoding="utf-8")
        assert re.search(r"<creator type=\"composer\">[^<]{8,}</creator>", text), song
        assert "Public domain. Written down from memory" in text, song


def test_size() -> None:
    """At least twelve songs, each in eight variants, each with paper and a page of its own."""
    songs = list(plan(opened(SET)))
    assert len(songs) >= 12
    for song in songs:
        names = [unit.name for unit in song.units]
        assert len(names) == 10, song.song.name
        assert names[-2:] == ["handout", "review"]


@pytest.mark.slow
def test_every_variant_can_be_made(tmp_path: Path) -> None:
    """All recipes for all songs, scores alone; the benchmark makes levels and paper too."""
    text = SET.read_text(encoding="utf-8").replace('levels = ["level-3"]', "")
    for name in ("songs/", "../"):
        text = text.replace(f'source = "{name}', f'source = "{name.replace("../", "")}')
    text = re.sub(r"outputs = \[.*?\]", 'outputs = ["musicxml"]\npictures = false', text)
    for song in (*SONGS, *(ROOT / "samples").glob("*.musicxml")):
        folder = "songs" if song in SONGS else "."
        (tmp_path / folder).mkdir(exist_ok=True)
        (tmp_path / folder / song.name).write_bytes(song.read_bytes())
    recipes = SET.with_name("recipes.toml").read_text(encoding="utf-8")
    (tmp_path / "recipes.toml").write_text(recipes, encoding="utf-8")
    path = tmp_path / "set.toml"
    path.write_text(text, encoding="utf-8")
    summary = run(path)
    assert summary.is_good, summary.refused
    assert summary.made >= 84


def test_the_page_shows_a_real_set(tmp_path: Path) -> None:
    """The set file that docs/songsets.md shows can be read as it stands."""
    page = (ROOT / "docs" / "songsets.md").read_text(encoding="utf-8")
    toml = page.split("```toml\n")[1].split("```")[0]
    names = tomllib.loads(toml)
    assert names["build"]["recipe-files"] == ["recipes.toml"]
    docs = (ROOT / "docs" / "recipes.md").read_text(encoding="utf-8")
    recipes = docs.split("```toml\n")[1].split("```")[0]
    (tmp_path / "recipes.toml").write_text(recipes, encoding="utf-8")
    level = 'name = "mine"\nextends = "level-1"\n'
    (tmp_path / "mine.toml").write_text(level, encoding="utf-8")
    songs = parse_set(toml, name="set.toml", folder=tmp_path)
    assert [one.name for one in songs.entries[1].variants] == [
        "reading-only",
        "first-lesson",
        "level-2",
        "mine",
    ]


def test_hooks_name_commands_that_exist() -> None:
    """The entries for the pre-commit framework are calls of ours."""
    text = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    entries = re.findall(r"^  entry: (.*)$", text, flags=re.MULTILINE)
    assert entries == ["neckwise build --check", "neckwise proof"]
