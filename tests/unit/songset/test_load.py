"""Set files: what they may say, how it is filled in, and every fault with line and way out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.unit.songset.sets import RECIPES, SET, make_set, opened, run
from variants.errors import InputError, NeckwiseError
from variants.songset.load import parse_set
from variants.songset.resolved import SongSet


def _set(text: str, folder: Path = Path()) -> SongSet:
    return parse_set(text, name="set.toml", folder=folder)


def _spec(songs: SongSet, name: str, song: int = 0) -> dict[str, Any]:
    return dict(next(one.spec for one in songs.entries[song].variants if one.name == name))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("[build\n", r"set.toml, line 1: is no TOML: .*; see toml.io for how it is written"),
        ("", r"line 1: there are no songs; write \[\[songs\]\] and source"),
        ("[[songs]]\ntitle = 'x'", "line 1: song 1, source: is missing"),
        ("[[songs]]\nsource = 'a'\nsorce = 1", "line 3: .*no such setting; did you mean source"),
        ("[[songs]]\nsource = 'a'\n\n[pupl]\nx = 1", "line 4: pupl: .*did you mean pupil"),
        (
            "[pupil]\nhand = 'huge'\n[[songs]]\nsource = 'a'",
            "line 2: .*'huge' is no hand; use small",
        ),
        ("[pupil]\nscale = 'long'\n[[songs]]\nsource = 'a'", "line 2: .*no scale length"),
        ("[instrument]\ntuning = 'xyz'\n[[songs]]\nsource = 'a'", "line 2: instrument, tuning"),
        ("[build]\noutputs = [\n'pdf',\n'wav']\n[[songs]]\nsource = 'a'", "line 4: .*'wav'"),
        ("[build]\noutputs = []\n[[songs]]\nsource = 'a'", "line 2: .*is empty"),
        ("[build]\nnames = '{song}'\n[[songs]]\nsource = 'a'", r"line 2: .*put \{variant\} into"),
        ("[build]\nnames = '../{song}{variant}'\n[[songs]]\nsource = 'a'", "line 2: .*no name"),
        ("[build]\nnames = '{x}'\n[[songs]]\nsource = 'a'", r"line 2: .*\{x\} stands for nothing"),
        ("[build]\nrecipes = ['tab-onlie']\n[[songs]]\nsource = 'a'", "line 2: .*mean tab-only"),
        ("[build]\nlevels = ['level-9']\n[[songs]]\nsource = 'a'", "line 2: .*no level 'level-9'"),
        (
            "[build]\nlevel = 'level-9'\nrecipes = ['roots']\n[[songs]]\nsource = 'a'",
            "line 2: .*no level 'level-9'",
        ),
        ("[[songs]]\nsource = 'a'", "line 1: song 1: there is nothing to make of it"),
        (
            "[[songs]]\nsource = 'a'\nrecipes = ['roots']\nskip = ['root']",
            "line 4: song 1: there is no variant to skip 'root'; did you mean roots",
        ),
        (
            "[[songs]]\nsource = 'a'\n[[songs]]\nsource = '*.xml'\ntitle = 'b'\n[variants.a]",
            "line 5: song 2: a pattern is of several songs",
        ),
        (
            "[[songs]]\nsource = 'a'\n[songs.variants.x]\nsteps = ['slow', 'sloow']",
            "line 4: song 1, variant x, steps, number 2: .*sloow",
        ),
        ("[variants.x]\nstep = ['slow']\n[[songs]]\nsource = 'a'", "line 2: .*did you mean steps"),
        ("[build]\nrecipe-files = ['no.toml']\n[[songs]]\nsource = 'a'", "line 2, no.toml: cannot"),
        ("songs = 3", "line 1: .*is no list"),
    ],
)
def test_faults(text: str, said: str) -> None:
    """A fault is one line: file, line, what is wrong, and what to do."""
    with pytest.raises(NeckwiseError, match=said) as caught:
        _set(text)
    assert "\n" not in str(caught.value)
    assert caught.value.way_out


def test_more_faults_are_counted() -> None:
    """The first fault of the file is told, and how many follow."""
    with pytest.raises(NeckwiseError, match=r"line 2: .*\(1 more fault in this file\)"):
        _set("[pupil]\nhand = 'huge'\nscael = 1\n[[songs]]\nsource = 'a'")


def test_pupil_and_instrument_fill_in_what_a_recipe_leaves_out() -> None:
    """The set says it for all songs, a song for itself, and a recipe goes before both."""
    songs = _set(
        "[pupil]\nhand = 'small'\nscale = '3/4'\n[instrument]\ncapo = 2\n"
        "[variants.a]\n[variants.b]\nhand = 'large'\n"
        "[[songs]]\nsource = 'x'\n"
        "[[songs]]\nsource = 'y'\n[songs.pupil]\nhand = 'medium'\n[songs.instrument]\ncapo = 0\n"
    )
    assert _spec(songs, "a")["recipe"] == {"hand": "small", "scale": "3/4", "capo": 2}
    assert _spec(songs, "b")["recipe"]["hand"] == "large"
    assert _spec(songs, "a", 1)["recipe"] == {"scale": "3/4", "capo": 0}


def test_a_song_changes_a_recipe() -> None:
    """What a song says of a variant goes before the recipe; what it leaves out stays."""
    songs = _set(
        "[variants.a]\ntitle = 'A'\nsteps = ['slow']\nstaves = 'tab'\n[[songs]]\nsource = 'x'\n"
        "[songs.variants.a]\nsteps = ['slow:percent=50']\n[songs.variants.own]\nstaves = 'tab'\n"
    )
    assert _spec(songs, "a")["recipe"] == {"steps": ["slow:percent=50"], "staves": "tab"}
    assert [(one.name, one.title) for one in songs.entries[0].variants] == [
        ("a", "A"),
        ("own", "own"),
    ]


def test_recipes_of_a_file_go_before_the_usual(tmp_path: Path) -> None:
    """A file of recipes may name a usual recipe anew, and the set itself goes before the file."""
    (tmp_path / "r.toml").write_text("[variants.roots]\nstaves = 'tab'\n", encoding="utf-8")
    text = "[build]\nrecipe-files = ['r.toml']\nrecipes = ['roots']\n[[songs]]\nsource = 'x'\n"
    assert _spec(_set(text, tmp_path), "roots")["recipe"] == {"staves": "tab"}
    text += "[variants.roots]\nstaves = 'notation'\n"
    assert _spec(_set(text, tmp_path), "roots")["recipe"] == {"staves": "notation"}


def test_levels_travel_whole(tmp_path: Path) -> None:
    """A level of the teacher's own is in the plan with all that it extends; no worker reads it."""
    (tmp_path / "mine.toml").write_text(
        'name = "mine"\nextends = "level-1"\n[limits.measures]\nvalue = 8\n', encoding="utf-8"
    )
    text = "[build]\nlevels = ['mine.toml', 'level-2']\n[[songs]]\nsource = 'x'\n"
    songs = _set(text, tmp_path)
    assert [one.name for one in songs.entries[0].variants] == ["mine", "level-2"]
    limits = _spec(songs, "mine")["level"]["limits"]
    assert limits["measures"]["value"] == 8
    assert "note-values" in limits


def test_json_and_back() -> None:
    """What is kept of a set is the set."""
    songs = _set(SET + RECIPES)
    assert SongSet.from_json(songs.as_json()) == songs


def test_a_checked_set_is_not_checked_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The second opening takes what was kept, until the set file or a file of recipes changes."""
    recipes = tmp_path / "r.toml"
    recipes.write_text(RECIPES, encoding="utf-8")
    text = SET.replace("[build]", "[build]\nrecipe-files = ['r.toml']\nrecipes = ['tab']")
    path = make_set(tmp_path, text=text)
    run(path)
    kept = opened(path)
    assert kept.kept == b""
    recipes.write_text(RECIPES.replace('"tab"', '"both"'), encoding="utf-8")
    changed = opened(path)
    assert changed.kept != b""
    assert changed.songs != kept.songs


def test_unreadable_set_files(tmp_path: Path) -> None:
    """A set file that is not there, is a folder, or is no text, is one line."""
    bad = tmp_path / "bad.toml"
    bad.write_bytes(b"\xff\xfe\x00")
    for path, said in (
        (tmp_path / "no.toml", "cannot be read"),
        (tmp_path, "is a folder"),
        (bad, "no text in UTF-8"),
    ):
        with pytest.raises(InputError, match=said):
            opened(path)
