"""What `make demo` makes: every variant there, valid, and what it says it is."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

from tests.cli.calling import RIFF, ROOT
from tests.xsd import validate
from variants.musicxml import read
from variants.score import Score, notes, onsets


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Run the demo once and give its files by name."""
    folder = tmp_path_factory.mktemp("demo")
    spec = importlib.util.spec_from_file_location("demo", ROOT / "samples" / "demo.py")
    assert spec is not None
    assert spec.loader is not None
    demo = importlib.util.module_from_spec(spec)
    with pytest.MonkeyPatch.context() as patch:
        # Its dataclasses look their module up by name.
        patch.setitem(sys.modules, "demo", demo)
        spec.loader.exec_module(demo)
        demo.main(folder)
    return {path.stem: path for path in sorted(folder.iterdir())}


def _riff(made: dict[str, Path], name: str) -> Score:
    return read(made[f"harbour-riff-{name}"])


def _heights(score: Score) -> list[tuple[object, ...]]:
    return [one.semitones for one in onsets(score.parts[0])]


def test_there_are_enough(made: dict[str, Path]) -> None:
    """At least eight variants of the riff and three of another sample."""
    assert sum(name.startswith("harbour-riff-") for name in made) >= 8
    assert sum(not name.startswith("harbour-riff-") for name in made) >= 3


def test_all_are_valid(made: dict[str, Path]) -> None:
    """The W3C MusicXML 4.0 schema has no fault to find in any of them."""
    faults = {name: validate(path.read_bytes()) for name, path in made.items()}
    assert {name: found for name, found in faults.items() if found} == {}


@pytest.mark.parametrize("name", ["reading-only", "open-position", "fret-5"])
def test_same_sounding_notes(name: str, made: dict[str, Path]) -> None:
    """Another place on the neck, or none: the same sounding notes."""
    assert _heights(_riff(made, name)) == _heights(read(RIFF))


def test_positions(made: dict[str, Path]) -> None:
    """Open position stays below fret 5; the variant around fret 5 has frets 5 to 8 alone."""
    frets = [
        {note.place.fret for note in notes(_riff(made, name).parts[0]) if note.place}
        for name in ("open-position", "fret-5")
    ]
    assert max(frets[0]) <= 4
    assert 0 in frets[0]
    assert frets[1] <= {5, 6, 7, 8}


def test_fourths(made: dict[str, Path]) -> None:
    """Every fifth of the riff is a fourth with the same two notes."""
    before, after = _heights(read(RIFF)), _heights(_riff(made, "fourths"))
    assert [(high - 12, root) for root, high in before] == after  # type: ignore[operator]


@pytest.mark.parametrize(("name", "string"), [("string-6", 6), ("string-5", 5)])
def test_one_string(name: str, string: int, made: dict[str, Path]) -> None:
    """One string, from the open one on."""
    places = [note.place for note in notes(_riff(made, name).parts[0]) if note.place]
    assert {place.string for place in places} == {string}
    assert min(place.fret for place in places) == 0


def test_easier_rhythm(made: dict[str, Path]) -> None:
    """Nothing begins between the beats any more."""
    score = _riff(made, "on-the-beat")
    assert all(one.tick % score.ticks == 0 for one in onsets(score.parts[0]))


@pytest.mark.parametrize("name", ["e-minor", "d-minor"])
def test_other_keys(name: str, made: dict[str, Path]) -> None:
    """All notes are moved by one interval."""
    pairs = zip(_heights(read(RIFF)), _heights(_riff(made, name)), strict=True)
    moved = {
        b - a  # type: ignore[operator]
        for old, new in pairs
        for a, b in zip(old, new, strict=True)
    }
    assert len(moved) == 1
    assert moved != {0}
