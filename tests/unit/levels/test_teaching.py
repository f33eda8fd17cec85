"""What a piece practises and covers, in a teacher's words."""

from __future__ import annotations

import pytest

from tests.strategies import line
from tests.unit.levels.made import placed
from variants.levels import beyond, coverage, lessons, load_level, new_after
from variants.levels.teaching import interval_text

PIECE = placed(
    "E4 G4 C4+E4:h | E4:e G4:e A4:h. | A3+D4:w",
    *("1:0", "1:3/3", "2:1/1", "1:0", "1:0", "1:3/1", "1:5/3", "4:7/1", "3:7/1"),
)


def _texts(found: object) -> dict[str, tuple[str, ...]]:
    assert isinstance(found, tuple)
    return {one.text: one.measures for one in found}


def test_lessons_with_their_measures() -> None:
    """Notes and strings, landmarks, dyads, off-beats, shifts and barres, each with measures."""
    found = _texts(lessons(PIECE, PIECE.parts[0]))
    assert found["E4 on string 1 (open)"] == ("1", "2")
    assert found["the landmark at fret 3"] == ("1", "2")
    assert found["the landmark at fret 5"] == ("2",)
    assert found["the landmark at fret 7"] == ("3",)
    assert found["dyads: major third"] == ("1",)
    assert found["dyads: perfect fourth (an inverted perfect fifth)"] == ("3",)
    assert found["off-beats after beat 1, with the beat struck"] == ("2",)
    assert found["a barre over 2 strings"] == ("3",)
    assert any(text.startswith("shift from position") for text in found)
    assert found["signature of no signs"] == ("1", "2", "3")


def test_what_is_new_after_another_piece() -> None:
    """Only what the pieces before do not have is new."""
    before = placed("E4 G4 r r", "1:0", "1:3/3")
    new = _texts(new_after(lessons(PIECE, PIECE.parts[0]), lessons(before, before.parts[0])))
    assert "E4 on string 1 (open)" not in new
    assert "A4 on string 1 (fret 5)" in new


def test_what_goes_beyond_a_level() -> None:
    """Against level 1 two notes at once and eighths are beyond; the open string is not."""
    found = _texts(beyond(lessons(PIECE, PIECE.parts[0]), load_level("level-1")))
    assert {"dyads: major third", "eighth notes"} <= found.keys()
    assert "E4 on string 1 (open)" not in found


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("P5", "dyads: perfect fifth"),
        ("m6", "dyads: minor sixth (an inverted major third)"),
        ("M2", "dyads: major second (an inverted minor seventh)"),
        ("A4", "dyads: augmented fourth (an inverted diminished fifth)"),
        ("P8", "dyads: perfect octave"),
    ],
)
def test_dyads_in_words(name: str, text: str) -> None:
    """A dyad and what it is the inversion of."""
    assert interval_text(name) == text


def test_coverage_of_a_set() -> None:
    """Taught where first met, never met, and met before it is taught; and the neck as data."""
    easy = placed("E4 G4 r r", "1:0", "1:3/3")
    level = load_level("level-2")
    found = coverage([("easy", easy, easy.parts[0]), ("piece", PIECE, PIECE.parts[0])], level)
    states = {one.text: (one.state, one.piece, one.measure) for one in found.items}
    assert states["E4 on string 1 (open)"] == ("taught", "easy", "1")
    assert states["eighth notes"] == ("taught", "piece", "2")
    assert states["dyads: major third"][0] == "met before it is taught"
    assert states["whole notes"] == ("taught", "piece", "3")
    assert states["dotted half notes"][0] == "taught"
    spots = {(one.string, one.fret): one for one in found.neck}
    assert spots[1, 3].state == "taught"
    assert spots[1, 3].count == 3
    assert spots[2, 12].state == "never met"
    assert (1, 15) not in spots


def test_nothing_practised_on_the_neck_without_places() -> None:
    """Without places the neck is left out, and rhythm and intervals are still told."""
    score = line("E4:q. G4:e C4+E4:h")
    kinds = {one.kind for one in lessons(score, score.parts[0])}
    assert "note" not in kinds
    assert {"dyad", "value", "off-beat"} <= kinds
