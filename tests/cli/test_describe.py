"""`neckwise describe`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.calling import DUET, RIFF, SAMPLES, call

JIG = SAMPLES / "irish-washerwoman.musicxml"
MELODY = SAMPLES / "auld-lang-syne.musicxml"
LEAD_SHEET = SAMPLES / "amazing-grace.musicxml"
ARPEGGIO = SAMPLES / "lantern-arpeggio.musicxml"


def _values(path: Path, *words: str) -> dict[str, Any]:
    done = call("describe", path, *words, "--json")
    assert (done.code, done.err) == (0, "")
    values: dict[str, Any] = json.loads(done.out)
    return values


def test_riff() -> None:
    """The riff is eight fifths in A minor, mostly off the beat, tied over beat and barline."""
    (part,) = _values(RIFF)["parts"]
    assert part["key"] == part["key_heard"]["key"] == "A minor"
    assert part["dyads"] == [{"interval": "P5", "count": 8}]
    assert (part["singles"], part["chords"], part["measures"]) == (0, [], 2)
    assert part["range"]["lowest"] == "A2"
    assert part["range"]["lowest_written"] == "A3"
    assert part["ties_over_a_barline"] == 2
    assert part["off_beats"] == 6


def test_riff_has_two_homes() -> None:
    """The riff fits position II and position V without open strings, as its README says."""
    (part,) = _values(RIFF)["parts"]
    whole = [
        fit["position"]
        for fit in part["neck"]["positions"]
        if fit["onsets_without_open_strings"] == part["onsets"]
    ]
    assert whole == [2, 5]


def test_pickup_repeat_and_compound_beats() -> None:
    """Pick-ups, repeats and compound metres are told as players count them."""
    text = call("describe", MELODY).out
    assert "pick-up of 1 beat" in text
    assert "1 repeat" in text
    text = call("describe", JIG).out
    assert "6/8" in text
    assert "dotted quarter = " in text


def test_tuplets_and_chords() -> None:
    """Triplets and a six-note chord are counted."""
    (part,) = _values(ARPEGGIO)["parts"]
    assert [one["ratio"] for one in part["tuplets"]] == ["3:2"]
    assert part["most_at_once"] == 6
    assert part["chords"][0]["count"] == 1


def test_lead_sheet() -> None:
    """Chord symbols and verses are counted, and the part is read as for guitar."""
    (part,) = _values(LEAD_SHEET)["parts"]
    assert part["chord_symbols"] > 0
    assert part["verses"] == 1


def test_every_part() -> None:
    """Both parts of the duet are described, in JSON and in words; one of them if asked for."""
    assert [part["id"] for part in _values(DUET)["parts"]] == ["P1", "P2"]
    text = call("describe", DUET).out
    assert "Part P1, Guitar 1" in text
    assert "Part P2, Guitar 2" in text
    assert [part["id"] for part in _values(DUET, "--part", "P2")["parts"]] == ["P2"]


def test_title_and_rights() -> None:
    """Title, creators and rights lines stand at the head."""
    text = call("describe", RIFF).out
    assert text.startswith("Harbour Riff\n")
    assert "CC0 1.0" in text


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.musicxml")), ids=lambda path: path.stem)
def test_fits_the_terminal(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """No line is longer than 80 columns, the file's name aside."""
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(SAMPLES)
    lines = call("describe", path.name).out.splitlines()
    assert max(map(len, lines)) <= 80


def test_own_output_is_described(tmp_path: Path) -> None:
    """Places and fingers of a variant are counted."""
    out = tmp_path / "a.musicxml"
    assert call("vary", RIFF, "-o", out).code == 0
    (part,) = _values(out)["parts"]
    assert part["placed"] == part["fingered"] == 16
    assert part["instrument"]["tuning"] == "standard"
    assert part["instrument"]["assumed"] is False


def test_tune_and_phrases() -> None:
    """The line that is the tune, each phrase with measure and beat; a call may say otherwise."""
    done = call("describe", SAMPLES / "auld-lang-syne.musicxml")
    assert "The tune: the top line" in done.out
    assert "measure 2, beat 4" in done.out
    found = json.loads(call("describe", SAMPLES / "harbour-riff.musicxml", "--json").out)
    assert found["parts"][0]["tune"]["line"] == "roots"
    words = ("describe", SAMPLES / "auld-lang-syne.musicxml", "--phrases", "1,5", "--json")
    part = json.loads(call(*words).out)["parts"][0]
    assert [one["begin"] for one in part["phrases"]] == [
        {"measure": "0", "beat": "4"},
        {"measure": "4", "beat": "4"},
    ]
    assert part["phrases"][0]["parted_by"] == ["as you said"]
    done = call("describe", SAMPLES / "harbour-riff.musicxml", "--tune", "middle")
    assert done.code == 2
    assert "no such line" in done.err
