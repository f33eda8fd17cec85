"""What README.md draws and names is so."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from lxml import etree

from tests.cli.calling import call
from variants.guitar import STANDARD, instrument_for
from variants.music import pitch
from variants.score.instrument import Place

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
GUITAR = instrument_for(STANDARD)

Moments = list[tuple[int, ...]]


def _drawings() -> list[Moments]:
    """Return what sounds at each struck moment of each drawing, low to high."""
    found = []
    for block in re.findall(r"```\n(beat.*?)```", README, flags=re.DOTALL):
        moments: dict[int, list[int]] = {}
        for string, row in re.findall(r"^string (\d)(.*)$", block, flags=re.MULTILINE):
            for fret in re.finditer(r"\d+", row):
                midi = GUITAR.sounding(Place(int(string), int(fret.group())))
                assert midi is not None
                moments.setdefault(fret.start(), []).append(midi)
        found.append([tuple(sorted(moments[column])) for column in sorted(moments)])
    return found


def _first_measure() -> Moments:
    """Return the struck chords of the riff's first measure, read with lxml alone."""
    root = etree.fromstring((ROOT / "samples" / "harbour-riff.musicxml").read_bytes())
    chords: list[list[int]] = []
    for note in root.findall("part/measure[1]/note"):
        if note.find("rest") is not None or note.find("tie[@type='stop']") is not None:
            continue
        if note.find("chord") is None:
            chords.append([])
        step, octave = note.findtext("pitch/step") or "", note.findtext("pitch/octave") or ""
        chords[-1].append(pitch(step, 0, int(octave)).midi)
    return [tuple(sorted(chord)) for chord in chords]


def test_first_drawing_is_the_sample() -> None:
    """The frets drawn first sound the sample's first measure."""
    before, _ = _drawings()
    assert before == _first_measure()


def test_second_drawing_is_inverted() -> None:
    """In the second drawing the upper note of each dyad is an octave lower."""
    before, after = _drawings()
    assert after == [(fifth - 12, root) for root, fifth in before]


def _calls() -> list[list[str]]:
    """Return the words of every call of the command that README.md shows with its file."""
    blocks = re.findall(r"```\n(.*?)```", README, flags=re.DOTALL)
    lines = "\n".join(blocks).replace("\\\n", " ").splitlines()
    found = [shlex.split(line, comments=True) for line in lines if "neckwise " in line]
    # The sample set takes its time and is built in tests/unit/songset/test_sample_set.py.
    return [words[1:] for words in found if words[0].endswith("neckwise") and words[1] != "build"]


@pytest.mark.parametrize("words", _calls(), ids=" ".join)
def test_calls_work(words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every call that README.md shows can be typed as it stands."""
    (tmp_path / "out").mkdir()
    (tmp_path / "samples").symlink_to(ROOT / "samples")
    monkeypatch.chdir(tmp_path)
    done = call(*words)
    assert (done.code, done.err) == (0, "")
    assert (tmp_path / words[words.index("-o") + 1]).stat().st_size


def test_named_commands_exist() -> None:
    """Every command of the table has its help, and every option that the text names exists."""
    named = set(re.findall(r"`neckwise (\w+)", README))
    assert named
    helps = {name: call(name, "--help") for name in named}
    assert {done.code for done in helps.values()} == {0}
    every = " ".join(done.out for done in helps.values())
    missing = {option for option in re.findall(r"--[a-z][a-z-]+", README) if option not in every}
    assert missing == set()


def test_named_files_exist() -> None:
    """Every file that README.md and DEVELOPERS.md name by a path of the tree is there."""
    text = README + (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"(?:samples|tests|variants|benchmarks)/[\w./-]+\.[a-z]+", text))
    missing = {name for name in named if "my_step" not in name and not (ROOT / name).exists()}
    assert named
    assert missing == set()
