"""What a song set may cost, where it may write, and that it never writes over its own sources."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests.cli.calling import call, is_one_line
from tests.unit.songset.sets import RECIPES, SET, make_set, song, tree
from variants import toml_file
from variants.files import read_bytes
from variants.songset.opening import open_set

ENDLESS = Path("/dev/zero")
needs_endless = pytest.mark.skipif(not ENDLESS.exists(), reason="this system has no endless file")


@needs_endless
@pytest.mark.parametrize(
    ("place", "words"),
    [
        ("set", ("build", ENDLESS)),
        ("song", ("build", "set.toml")),
        ("recipes", ("build", "set.toml")),
        ("level", ("build", "set.toml")),
        ("report", ("build", "set.toml", "--check", "--diff", ENDLESS)),
        ("vary", ("vary", "songs/tune-1.musicxml", "--recipe", ENDLESS, "-o", "a.musicxml")),
        ("fit", ("fit", "songs/tune-1.musicxml", "--level", "endless.toml", "-o", "a.musicxml")),
        ("proof", ("proof", "songs/tune-1.musicxml", "--config", ENDLESS)),
        ("template", ("sheet", "songs/tune-1.musicxml", "-o", "a.pdf", "--template", ENDLESS)),
    ],
)
def test_no_file_is_read_without_an_end(
    place: str, words: tuple[str | Path, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Sources, set, recipes, levels and reports have a size that they may not pass."""
    text = {
        "song": f"{SET}\n[[songs]]\nsource = '{ENDLESS}'\nname = 'endless'\nrecipes = ['plain']\n",
        "recipes": SET.replace("[build]", f"[build]\nrecipe-files = ['{ENDLESS}']"),
        "level": SET.replace("[build]", "[build]\nlevels = ['endless.toml']"),
    }.get(place, SET)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("NECKWISE_LIMITS", "file_bytes=100000")
    # Too small a bound for these to take their time, large enough for what is right.
    monkeypatch.setattr(toml_file, "MOST_BYTES", 100_000)
    monkeypatch.setattr("variants.songset.opening.MOST_BYTES", 100_000)
    monkeypatch.setattr("variants.songset.diff._MOST_BYTES", 100_000)
    make_set(tmp_path, text=text + RECIPES)
    (tmp_path / "endless.toml").symlink_to(ENDLESS)
    done = call(*words)
    said = done.out if place == "song" else done.err
    assert done.code == (1 if place == "song" else 2)
    assert "is larger than" in said
    assert "raise the limit (file_bytes)" in said or "name " in said


def test_limits_hold_for_songs_too(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The bounds of every command, with the same words; under wider ones the song is made."""
    path = make_set(tmp_path, songs=1)
    monkeypatch.setenv("NECKWISE_LIMITS", "notes=7")
    narrow = call("build", path, "--json", "--jobs", "1")
    described = call("describe", tmp_path / "songs" / "tune-1.musicxml")
    assert narrow.code == 1
    reason = json.loads(narrow.out)["refused"][0]["reason"]
    assert reason in described.err
    assert "notes" in reason
    monkeypatch.delenv("NECKWISE_LIMITS")
    assert call("build", path, "--jobs", "1").code == 0


def test_a_source_is_never_an_output(tmp_path: Path) -> None:
    """A set in which a forced build would write over a song is refused when it is opened."""
    path = make_set(tmp_path, songs=0)
    source = tmp_path / "out" / "tune" / "plain.musicxml"
    source.parent.mkdir(parents=True)
    source.write_text(song("E4 F4 G4 A4"), encoding="utf-8")
    before = source.read_bytes()
    names = '[build]\nnames = "{song}/{variant}"'
    text = path.read_text(encoding="utf-8").replace("[build]", names)
    for shown in ("out/tune/plain.musicxml", "link.musicxml"):
        one = f'"{shown}"\nname = "tune"'
        path.write_text(text.replace('"songs/*.musicxml"', one), encoding="utf-8")
        if shown.startswith("link"):
            (tmp_path / shown).symlink_to(source)
        for more in ((), ("--force",), ("--plan",), ("--check",)):
            done = call("build", path, *more)
            assert done.code == 2, done
            assert is_one_line(done.err)
            assert "has the name of an output of tune/plain; move it" in done.err
            assert source.read_bytes() == before
    # A family writes names behind that of its unit.
    member = source.with_name("keys-in-d.musicxml")
    source.rename(member)
    text = text.replace("[variants.plain]\n", '[variants.keys]\nsteps = ["all-keys"]\n', 1)
    text = text.replace('"songs/*.musicxml"', '"out/tune/keys-in-d.musicxml"\nname = "tune"')
    path.write_text(text, encoding="utf-8")
    assert "has the name of an output of tune/keys" in call("build", path, "--force").err
    assert member.read_bytes() == before


def test_a_set_writes_into_its_own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A set from somebody else sends no build elsewhere: only the call itself can."""
    inner = tmp_path / "inner"
    text = SET.replace("[build]", '[build]\nfolder = "../out"') + RECIPES
    path = make_set(inner, songs=1, text=text)
    monkeypatch.chdir(inner)
    for words in ((), ("-o", "../other"), ("--inside", str(inner))):
        done = call("build", path, *words)
        assert done.code == 2
        assert is_one_line(done.err)
        assert "lies outside the folder of the set file" in done.err
        assert "--inside FOLDER" in done.err
    (inner / "link").symlink_to(tmp_path)
    assert call("build", path, "-o", "link/out").code == 2
    assert sorted(one.name for one in tmp_path.iterdir()) == ["inner"]
    assert call("build", path, "--inside", tmp_path, "--plan").code == 0
    assert call("build", path, "-o", tmp_path / "other", "--plan").code == 0
    assert call("build", path, "-o", "here", "--plan").code == 0
    # Where one works is as good as where the set is.
    monkeypatch.chdir(tmp_path)
    assert call("build", path, "-o", os.path.join("some", "where"), "--plan").code == 0  # noqa: PTH118


def test_opening_is_linear(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """However many songs, the set file is gone through once for the lines of its values."""
    text = SET.replace("[build]", '[build]\nlevels = ["mine.toml"]\nrecipes = ["plain"]')
    text += '[variants.plain]\nstaves = "notation"\n'
    text += "".join(f'[[songs]]\nsource = "songs/s{n}.musicxml"\n' for n in range(50))
    path = make_set(tmp_path, text=text)
    (tmp_path / "mine.toml").write_text('name = "mine"\n', encoding="utf-8")
    seen: list[str] = []
    real_keys, real_read = toml_file._keys, read_bytes

    def keys(lines: list[str]) -> object:
        seen.append("lines")
        return real_keys(lines)

    def read(path: Path, *, most_bytes: int, way_out: str) -> bytes:
        seen.append(path.name)
        return real_read(path, most_bytes=most_bytes, way_out=way_out)

    monkeypatch.setattr(toml_file, "_keys", keys)
    monkeypatch.setattr(toml_file, "read_bytes", read)
    opened = open_set(str(path))
    assert len(opened.songs.entries) == 51
    assert seen.count("lines") == 1
    # Once for its values, once for what it hangs on.
    assert seen.count("mine.toml") == 2
    assert tree(tmp_path)["set.toml"]
