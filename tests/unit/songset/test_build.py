"""Building: everything once, then only what changed; the same bytes whatever the way."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.unit.songset.sets import RECIPES, SET, Counting, make_set, run, song, tree
from variants.errors import OutputError, UsageError
from variants.songset.build import Options
from variants.songset.executors import Processes
from variants.songset.manifest import Manifest


def test_makes_everything_once(tmp_path: Path) -> None:
    """Two songs of three variants are six files, with report, page and manifest; then nothing."""
    path = make_set(tmp_path)
    first = run(path)
    assert (first.made, first.kept, first.fresh, first.written) == (6, 0, 0, 8)
    assert first.is_good
    made = tree(tmp_path / "out")
    assert set(made) == {
        *(f"tune-{n}/{v}.musicxml" for n in (1, 2) for v in ("plain", "tab", "higher")),
        "index.html",
        "manifest.json",
        "report.json",
    }
    counting = Counting()
    again = run(path, executor=counting)
    assert (again.made, again.kept, again.fresh, again.written) == (0, 0, 6, 0)
    assert counting.units == 0
    assert tree(tmp_path / "out") == made


def test_only_what_changed(tmp_path: Path) -> None:
    """One measure changed in one song runs that song's units and no other."""
    path = make_set(tmp_path)
    run(path)
    before = tree(tmp_path / "out")
    text = song("E4 F4 G4 A4", "G4 E4 F4 E4", title="Tune 2")
    (tmp_path / "songs" / "tune-2.musicxml").write_text(text, encoding="utf-8")
    counting = Counting()
    summary = run(path, executor=counting)
    assert (counting.songs, counting.units, summary.fresh) == (1, 3, 3)
    changed = {name for name, digest in tree(tmp_path / "out").items() if digest != before[name]}
    assert {name for name in changed if "/" in name} == {
        f"tune-2/{name}.musicxml" for name in ("higher", "plain", "tab")
    }


def test_only_the_changed_recipe(tmp_path: Path) -> None:
    """A recipe that changes runs its own units alone; going back needs no work at all."""
    path = make_set(tmp_path)
    run(path)
    before = tree(tmp_path / "out")
    path.write_text((SET + RECIPES).replace("interval=M2", "interval=m3"), encoding="utf-8")
    counting = Counting()
    run(path, executor=counting)
    assert (counting.songs, counting.units) == (2, 2)
    path.write_text(SET + RECIPES, encoding="utf-8")
    back = run(path, executor=counting)
    assert (counting.units, back.kept) == (2, 2)
    assert tree(tmp_path / "out") == before


def test_same_bytes_in_two_folders_and_in_another_process(tmp_path: Path) -> None:
    """Folder and process leave no trace in the outputs."""
    one, two = make_set(tmp_path / "one"), make_set(tmp_path / "two")
    run(one)
    summary = run(two, executor=Processes(1))
    assert summary.made == 6
    assert tree(one.parent / "out") == tree(two.parent / "out")


def test_removes_only_what_it_made(tmp_path: Path) -> None:
    """Outputs of a song that is gone are removed with their folder; other files stay."""
    path = make_set(tmp_path)
    run(path)
    (tmp_path / "songs" / "tune-2.musicxml").unlink()
    note = tmp_path / "out" / "tune-1" / "note.txt"
    note.write_text("mine", encoding="utf-8")
    summary = run(path)
    assert sorted(summary.removed) == [
        f"tune-2/{name}.musicxml" for name in ("higher", "plain", "tab")
    ]
    assert not (tmp_path / "out" / "tune-2").exists()
    assert note.read_text(encoding="utf-8") == "mine"


def test_edited_outputs_stay(tmp_path: Path) -> None:
    """What somebody changed is neither written over nor removed, unless it is forced."""
    path = make_set(tmp_path)
    run(path)
    made = tree(tmp_path / "out")
    edited = tmp_path / "out" / "tune-1" / "tab.musicxml"
    edited.write_text("mine", encoding="utf-8")
    summary = run(path)
    assert summary.edited == ["tune-1/tab.musicxml"]
    assert not summary.is_good
    assert edited.read_text(encoding="utf-8") == "mine"
    assert run(path, options=Options(force=True)).is_good
    assert tree(tmp_path / "out") == made
    edited.write_text("mine", encoding="utf-8")
    (tmp_path / "songs" / "tune-1.musicxml").unlink()
    assert run(path).edited == ["tune-1/tab.musicxml"]
    assert edited.read_text(encoding="utf-8") == "mine"
    assert run(path).edited == []


def test_foreign_files_stay(tmp_path: Path) -> None:
    """A file that stood there before the first build is not written over."""
    path = make_set(tmp_path)
    foreign = tmp_path / "out" / "tune-1" / "plain.musicxml"
    foreign.parent.mkdir(parents=True)
    foreign.write_text("older than the set", encoding="utf-8")
    summary = run(path)
    assert summary.edited == ["tune-1/plain.musicxml"]
    assert foreign.read_text(encoding="utf-8") == "older than the set"


def test_missing_outputs_come_back(tmp_path: Path) -> None:
    """An output that was deleted comes from the cache, and without a cache is made again."""
    path = make_set(tmp_path)
    run(path)
    made = tree(tmp_path / "out")
    gone = tmp_path / "out" / "tune-1" / "tab.musicxml"
    gone.unlink()
    assert (run(path).kept, tree(tmp_path / "out")) == (1, made)
    gone.unlink()
    for entry in (tmp_path / "out" / ".neckwise" / "cache").rglob("*"):
        if entry.is_file():
            entry.unlink()
    assert run(path).made == 6
    assert tree(tmp_path / "out") == made


def test_one_failing_song_stops_no_other(tmp_path: Path) -> None:
    """A song that is no score, and one that is missing, are told; the others are made."""
    text = SET.replace("[[songs]]", '[[songs]]\nsource = "gone.musicxml"\n\n[[songs]]')
    path = make_set(tmp_path, text=text + RECIPES)
    (tmp_path / "songs" / "broken.musicxml").write_text("<no>", encoding="utf-8")
    summary = run(path)
    assert summary.made == 9
    assert [one.unit for one in summary.failed] == ["gone"]
    assert {one.unit.split("/")[0] for one in summary.refused} == {"broken"}
    assert (tmp_path / "out" / "tune-2" / "tab.musicxml").exists()
    again = run(path)
    assert (again.made, len(again.refused), len(again.failed)) == (0, 3, 1)


def test_a_song_that_breaks_keeps_its_old_outputs(tmp_path: Path) -> None:
    """Until it can be read again, what a song made before stays; then all is as before."""
    path = make_set(tmp_path)
    run(path)
    made = tree(tmp_path / "out")
    source = tmp_path / "songs" / "tune-1.musicxml"
    text = source.read_text(encoding="utf-8")
    source.write_text("<no>", encoding="utf-8")
    assert len(run(path).refused) == 3
    now = tree(tmp_path / "out")
    assert now["tune-1/tab.musicxml"] == made["tune-1/tab.musicxml"]
    source.write_text(text, encoding="utf-8")
    assert run(path).is_good
    assert tree(tmp_path / "out") == made


def test_full_disk_leaves_old_outputs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No room for a new output: one line, the old one whole; with room the build goes on."""
    from variants.files import write_whole

    path = make_set(tmp_path)
    run(path)
    before = tree(tmp_path / "out")
    text = song("E4 F4 G4 A4", "G4 E4 F4 E4", title="Tune 2")
    (tmp_path / "songs" / "tune-2.musicxml").write_text(text, encoding="utf-8")

    def full(target: Path, data: bytes, *, through: Path, lasting: bool = False) -> None:
        if target.name == "tab.musicxml":
            raise OutputError("cannot be written: no space left on device", place=str(target))
        write_whole(target, data, through=through, lasting=lasting)

    monkeypatch.setattr("variants.songset.outputs.write_whole", full)
    with pytest.raises(OutputError, match="no space left"):
        run(path)
    name = "tune-2/tab.musicxml"
    assert tree(tmp_path / "out")[name] == before[name]
    monkeypatch.undo()
    summary = run(path)
    assert summary.went_on
    assert summary.is_good
    other = make_set(tmp_path / "other")
    (other.parent / "songs" / "tune-2.musicxml").write_text(text, encoding="utf-8")
    run(other)
    assert tree(other.parent / "out") == tree(tmp_path / "out")


@pytest.mark.parametrize("size", [0, 10, 200])
def test_damaged_cache_is_made_again(tmp_path: Path, size: int) -> None:
    """An entry that was cut short or changed is found by its own hash and made again."""
    path = make_set(tmp_path)
    run(path)
    made = tree(tmp_path / "out")
    for entry in (tmp_path / "out" / ".neckwise" / "cache").rglob("*"):
        if entry.is_file():
            data = entry.read_bytes()
            entry.write_bytes(data[:size] + b"x" * (len(data) - size))
    for name in ("tune-1", "tune-2"):
        (tmp_path / "out" / name / "tab.musicxml").unlink()
    summary = run(path)
    assert summary.damaged == 6
    assert summary.is_good
    assert tree(tmp_path / "out") == made


def test_a_cache_serves_two_sets(tmp_path: Path) -> None:
    """With a folder for results of its own, a second set of the same songs does no work."""
    one, two = make_set(tmp_path / "one"), make_set(tmp_path / "two")
    options = Options(cache=tmp_path / "cache")
    run(one, options=options)
    summary = run(two, options=options)
    assert (summary.made, summary.kept) == (0, 6)
    assert tree(one.parent / "out") == tree(two.parent / "out")


def test_prune_drops_what_no_unit_uses(tmp_path: Path) -> None:
    """Pruning keeps the results of this plan and drops the others."""
    path = make_set(tmp_path)
    run(path)
    (tmp_path / "songs" / "tune-2.musicxml").unlink()
    run(path, options=Options(prunes=True))
    entries = list((tmp_path / "out" / ".neckwise" / "cache").glob("??/*"))
    assert len(entries) == 3


def test_new_names_move_outputs(tmp_path: Path) -> None:
    """Another pattern of names brings files under new names and removes the old ones."""
    path = make_set(tmp_path)
    run(path)
    text = (SET + RECIPES).replace("pictures", 'names = "{number}-{song}-{variant}"\npictures')
    path.write_text(text, encoding="utf-8")
    summary = run(path)
    assert summary.made == 0
    names = set(tree(tmp_path / "out"))
    assert "001-tune-1-tab.musicxml" in names
    assert "tune-1/tab.musicxml" not in names
    assert len(names) == 9


def test_output_folder_is_not_that_of_the_set(tmp_path: Path) -> None:
    """The folder of the set file is refused as output folder, since cleaning works there."""
    path = make_set(tmp_path, text=SET.replace("[build]", '[build]\nfolder = "."') + RECIPES)
    with pytest.raises(UsageError, match="folder of the set file"):
        run(path)


def test_manifest_holds_nothing_of_the_day(tmp_path: Path) -> None:
    """The manifest has a line for each unit, with its key and the hash of each output."""
    path = make_set(tmp_path)
    run(path)
    records = Manifest.load(tmp_path / "out").records
    assert len(records) == 7
    record = records["tune-1/tab"]
    assert record.outputs == {"tune-1/tab.musicxml": tree(tmp_path / "out")["tune-1/tab.musicxml"]}
    assert str(tmp_path) not in (tmp_path / "out" / "manifest.json").read_text(encoding="utf-8")


def test_a_recipe_that_changes_nothing_is_skipped(tmp_path: Path) -> None:
    """A single line has no dyads to turn: the version is named, not printed a second time."""
    turned = '[variants.turned]\ntitle = "Upside down"\nsteps = ["invert-dyads"]\n'
    path = make_set(tmp_path, text=SET + RECIPES + turned)
    summary = run(path)
    assert summary.is_good
    assert [one.unit for one in summary.skipped] == ["tune-1/turned", "tune-2/turned"]
    assert summary.skipped[0].text.startswith("it would be the piece as it is: no perfect fifth")
    assert not [name for name in tree(tmp_path / "out") if "turned" in name]
    again = run(path)
    assert (again.made, len(again.skipped), again.is_good) == (0, 2, True)
