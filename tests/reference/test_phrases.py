"""Phrases: samples whose words or form leave no doubt, and folk songs as their encoders wrote them.

Essen folk songs as music21 ships them: each line of a song's ABC is one phrase (the EsAC code,
www.esac-data.org). The default run takes every fiftieth song; `benchmarks.phrases` takes them all.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.oracles.essen import agreement, ours, plain, songs
from variants.errors import UsageError
from variants.musicxml import read
from variants.score import Score
from variants.tune.line import tune_of
from variants.tune.phrases import phrases_of

SAMPLES = Path(__file__).parents[2] / "samples"


def _lasts(score: Score, *starts: str) -> list[str]:
    """Return the printed number of the measure in which each phrase ends."""
    part = score.parts[0]
    tune = tune_of(part)
    found = phrases_of(score, part, tune, starts=starts)
    assert [phrase.first for phrase in found[1:]] == [phrase.last + 1 for phrase in found[:-1]]
    return [part.measures[tune.notes[phrase.last].measure].number for phrase in found]


@pytest.mark.parametrize(
    ("name", "lasts"),
    [
        # The lines of the hymn's verse, the second and third sung in one breath in the words.
        ("amazing-grace", ["2", "4", "7", "10", "12", "15"]),
        # Four lines of verse, two measures each.
        ("auld-lang-syne", ["2", "4", "6", "8"]),
        ("set/songs/ode-to-joy", ["4", "8", "12", "16"]),
        ("set/songs/ah-vous-dirai-je", ["2", "4", "6", "8", "10", "12"]),
        # A riff is one breath.
        ("harbour-riff", ["2"]),
    ],
)
def test_phrases_of_known_tunes(name: str, lasts: list[str]) -> None:
    """Phrases end where singers breathe (common practice)."""
    assert _lasts(read(SAMPLES / f"{name}.musicxml")) == lasts


def test_what_the_user_says() -> None:
    """Measures named by the user begin phrases, and no others do."""
    score = read(SAMPLES / "set/songs/ode-to-joy.musicxml")
    assert _lasts(score, "1", "9") == ["8", "16"]
    with pytest.raises(UsageError, match=r"no note in that measure.*measures in which a phrase"):
        _lasts(score, "99")


def test_folk_songs() -> None:
    """On songs that nobody here chose, ours is far ahead of rests and long notes alone."""
    some = list(songs())[::50]
    precision, recall, together = agreement(some, ours)
    assert len(some) > 150
    assert min(precision, recall) > 0.68
    assert together > 0.72
    assert together > agreement(some, plain)[2] + 0.2
