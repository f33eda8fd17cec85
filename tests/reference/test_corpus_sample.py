"""A fixed sample of what `make corpus` does with everything that music21 ships as MusicXML.

Sources: the corpus and the feature files inside the PyPI package ``music21`` (the files; and the
library as a reader that shares no code with ours, and for the spelling of transposed notes), and
the W3C MusicXML 4.0 schema.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.oracles.corpus_files import corpus_files, label, music21_folder
from tests.oracles.sweep import DONE, REFUSED, Findings, Plan, examine

FEATURES = [path for path in corpus_files() if label(path).startswith("musicxml/")]
ROWS = 12
# One of each kind: chorales, a song with lyrics, a madrigal, a quartet, early music with odd
# metres, a lead sheet with chord symbols, tunes with pick-ups, tuplets within tuplets.
PIECES = (
    "corpus/bach/bwv1.6.mxl",
    "corpus/bach/bwv130.6.mxl",
    "corpus/bach/bwv311.mxl",
    "corpus/demos/nested_tuplet_finale_test2.xml",
    "corpus/leadSheet/fosterBrownHair.mxl",
    "corpus/liliuokalani/aloha_oe.mxl",
    "corpus/monteverdi/madrigal.5.1.mxl",
    "corpus/mozart/k80/movement3.mxl",
    "corpus/trecento/PMFC_06-Jacopo-03b-Di_Novo.xml",
)
# A file that breaks the standard in a way that leaves the music open is refused in one line.
REFUSED_FILES = {
    "11b-TimeSignatures-NoTime.xml": "goes back before the start of the measure",
}


def _find(name: str) -> Path:
    path = music21_folder() / name
    assert path.is_file(), f"music21 no longer ships {name}"
    return path


def test_the_files_are_there() -> None:
    """music21 ships its 143 feature files and some 650 pieces; fewer means a wrong folder."""
    assert len(FEATURES) >= 143
    assert len(corpus_files()) - len(FEATURES) >= 640


@pytest.mark.parametrize("row", range(ROWS))
def test_feature_files(row: int) -> None:
    """Each feature file is refused or read, written validly, moved, rearranged, heard alike."""
    found = Findings()
    for path in FEATURES[row::ROWS]:
        found.add(examine(path, Plan()))
    assert found.problems == []
    refused = [cause for (check, cause) in found.refusals if check == "read"]
    assert len(refused) == sum(path.name in REFUSED_FILES for path in FEATURES[row::ROWS])
    for line in refused:
        name, _, cause = line.partition(", ")
        assert REFUSED_FILES[name] in cause


@pytest.mark.parametrize("name", PIECES)
def test_pieces(name: str) -> None:
    """Whole pieces keep pitches, onsets, ties and lengths; each step keeps its contract."""
    found = examine(_find(name), Plan())
    assert found.problems == []
    assert found.verdicts["read", DONE] == 1
    assert found.verdicts["read", REFUSED] == 0
    # That the other reader was asked at all, and that steps were run.
    assert found.verdicts["written and read by music21", DONE] >= 1
    assert found.verdicts["transpose:interval=m3", DONE] == 1
    assert found.verdicts["invert-dyads", DONE] >= 1
