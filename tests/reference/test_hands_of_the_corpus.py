"""No impossible hand in a sample of the music that music21 ships (BSD), by checks of their own.

The whole of it is `benchmarks.fingering_corpus`; these files are those in which a fault was found
once, and some that have chords of grace notes, ties across voices, or many notes at once.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.oracles.corpus_files import music21_folder
from tests.oracles.fingered import EACH, Tally, on_guitar, run_file
from tests.oracles.hands import GO, LETS, check_part
from variants.finish import finish
from variants.musicxml import read
from variants.score import Change, Note, Place, Score, map_notes, with_parts
from variants.variant import proven

SAMPLE = (
    "musicxml/lilypondTestSuite/24a-GraceNotes.xml",
    "musicxml/lilypondTestSuite/24b-ChordAsGraceNote.xml",
    "musicxml/lilypondTestSuite/21c-Chords-ThreeNotesDuration.xml",
    "musicxml/lilypondTestSuite/33b-Spanners-Tie.xml",
    "musicxml/lilypondTestSuite/71e-TabStaves.xml",
    "corpus/bach/bwv248.23-2.mxl",
    "corpus/schumann_robert/opus48no2.mxl",
    "corpus/trecento/PMFC_12_9-Gloria Clementiae Pax.xml",
)


@pytest.mark.parametrize("name", SAMPLE)
def test_no_impossible_hand(name: str) -> None:
    """Every part is fingered without a fault, or refused in one line with a way out."""
    tally = Tally()
    run_file(music21_folder() / name, tally)
    assert tally.faults == []
    assert tally.fingered > 0


def duet() -> Score:
    """Return a fingered part of two voices in which notes are held over others."""
    score = read(music21_folder() / "corpus/bach/bwv248.23-2.mxl")
    part = next(part for part in score.parts if part.id == "P3")
    alone = with_parts(replace(score, changes=()), [on_guitar(part)])
    return proven(alone, finish(alone, keep_places=False, marks=EACH))


def test_the_check_knows_what_the_log_tells() -> None:
    """Without the log, a held note that was let go is a fault; with it, none is left."""
    done = duet()
    told = [change for change in done.changes if change.message.endswith(GO)]
    assert told
    assert told[0].message.startswith(LETS)
    assert list(check_part(done, done.parts[0], done.changes)) == []
    without: tuple[Change, ...] = ()
    assert any("held" in fault for fault in check_part(done, done.parts[0], without))


def test_the_check_sees_a_wrong_hand() -> None:
    """A fret too high, a finger on an open string, and no place at all are each told."""

    def spoilt(note: Note) -> Note:
        place = note.place
        return replace(note, place=place and Place(place.string, place.fret + 1), finger="0")

    done = duet()
    faults = " ".join(check_part(done, map_notes(done.parts[0], spoilt), done.changes))
    assert "does not sound" in faults
    assert "finger 0 at fret" in faults
    bare = map_notes(done.parts[0], lambda note: replace(note, place=None))
    assert any("has no place" in fault for fault in check_part(done, bare, done.changes))
