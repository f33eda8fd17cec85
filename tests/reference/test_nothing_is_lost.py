"""Reading and writing without a step loses nothing that the change log does not list.

A sample of what ``benchmarks/compare.py`` does on the whole corpus: every feature file that music21
ships (its copy of the LilyPond test suite and its own), element by element in the XML, which shares
no code with our reader; and some through music21's eyes.
"""

from __future__ import annotations

import pytest

from tests.oracles.comparison import compare
from tests.oracles.corpus_files import corpus_files, label
from variants.musicxml import to_bytes

FEATURES = [path for path in corpus_files() if label(path).startswith("musicxml/")]
IN_A_ROW = 20
# What is seldom: repeats in endings, tuplets in tuplets, graces, lyrics, chord symbols.
HEARD = ("23e-Tuplets", "24a-GraceNotes", "45a-SimpleRepeat", "61a-Lyrics", "71a-Chordnames")


def test_there_are_many_files() -> None:
    """The sample has all feature files."""
    assert len(FEATURES) > 140


@pytest.mark.parametrize("start", range(0, len(FEATURES), IN_A_ROW))
def test_nothing_is_lost_in_the_xml(start: int) -> None:
    """What stands in a feature file stands in what is written, at its place, or in the log."""
    for path in FEATURES[start : start + IN_A_ROW]:
        found = compare(path, readers=False)
        assert found.examples == []


@pytest.mark.parametrize("name", HEARD)
def test_music21_misses_nothing(name: str) -> None:
    """music21 finds in what is written what it finds in the source."""
    path = next(path for path in FEATURES if name in label(path))
    found = compare(path, other=("music21",))
    assert found.files["music21"] == 1
    assert found.examples == []


def test_a_loss_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """A writer that forgets the dynamics is found out."""
    path = next(path for path in FEATURES if "31a-Directions" in label(path))
    monkeypatch.setattr(
        "tests.oracles.comparison.to_bytes",
        lambda score: to_bytes(score).replace(b"<mf/>", b"<f/>"),
    )
    assert any("mf" in line for line in compare(path, readers=False).examples)
