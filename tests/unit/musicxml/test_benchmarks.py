"""The benchmarks measure what they say: their pieces are sound files, and their quick run works."""

from __future__ import annotations

import pytest

from benchmarks import corpus, speed
from benchmarks.pieces import piece
from tests.oracles.sweep import BROKEN, CRASHED, DONE, REFUSED, Findings
from tests.xsd import validate
from variants.musicxml import read_bytes
from variants.score import notes


@pytest.mark.parametrize(
    ("tab", "chords"), [(False, False), (False, True), (True, True)], ids=["line", "chords", "tab"]
)
def test_pieces_are_sound_files(tab: bool, chords: bool) -> None:
    """They are valid, their tab agrees with their notation, and a seed gives one piece."""
    data = piece(8, tab=tab, chords=chords)
    assert validate(data) == []
    score = read_bytes(data)
    assert score.changes == ()
    (part,) = score.parts
    assert len(part.measures) == 8
    assert all((note.place is not None) == tab for note in notes(part))
    assert (
        any(len(event.notes) > 3 for m in part.measures for event in m.voices[0].events) == chords
    )
    assert data == piece(8, tab=tab, chords=chords)
    assert data != piece(8, tab=tab, chords=chords, seed=2)


def test_the_quick_run(capsys: pytest.CaptureFixture[str]) -> None:
    """CI's smoke run times the smallest piece, prints the table and writes no report."""
    before = speed.REPORT.read_bytes()
    assert speed.main(["--smoke"]) == 0
    assert "| 8 measures, one line | 41 |" in capsys.readouterr().out
    assert speed.REPORT.read_bytes() == before


def test_missed_targets_are_named() -> None:
    """Too few files read, and anything broken or crashed, is a missed target."""
    found = Findings()
    found.verdicts.update({("read", DONE): 98, ("read", REFUSED): 2})
    assert corpus.missed(found, files=100) == ["98.00% of the files are read; the target is 99%"]
    found.verdicts["read", DONE] = 100
    assert corpus.missed(found, files=100) == []
    found.bad("invert-dyads", BROKEN, "here")
    found.bad("invert-dyads", CRASHED, "there")
    assert corpus.missed(found, files=100) == [
        f"{BROKEN}: 1; the target is 0",
        f"{CRASHED}: 1; the target is 0",
    ]
    assert "| invert-dyads | 0 | 0 | 1 | 0 | 1 |" in corpus.report(found, files=100, seconds=1)
