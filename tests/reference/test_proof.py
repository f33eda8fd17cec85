"""The proofreader against outside sources: files that say themselves what is wrong with them."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import pytest

from tests.unit.proof.pages import note, tab
from variants.proof import Severity, proofread

# Source: the MusicXML feature files that music21 carries (MIT). Their names and the descriptions
# inside them say what each is made to show.
_FOLDER = Path((find_spec("music21").submodule_search_locations or [""])[0])  # type: ignore[union-attr]
SUITE = _FOLDER / "musicxml" / "lilypondTestSuite"

# File, and what its own description or name says is wrong.
INVALID = (
    ("33i-Ties-NotEnded.xml", "tie-open"),
    ("41h-TooManyParts.xml", "part-id"),
    ("41g-PartNoId.xml", "part-id"),
    ("45f-Repeats-InvalidEndings.xml", "ending-open"),
    ("45g-Repeats-NotEnded.xml", "repeat-open"),
    ("46f-IncompleteMeasures.xml", "measure-sum"),
)


@pytest.mark.parametrize(("name", "rule"), INVALID)
def test_files_named_for_their_fault(name: str, rule: str) -> None:
    """What the name of a feature file says is wrong is found as an error."""
    found = {f.rule for f in proofread(SUITE / name).findings if f.severity is Severity.ERROR}
    assert rule in found


# Feature files made to show that something unusual is right: pick-ups, several voices, graces,
# senza misura, nested tuplets, repeats with endings, chord symbols, lyrics, transposing parts.
SOUND = (
    "01a-Pitches-Pitches.xml",
    "01c-Pitches-NoVoiceElement.xml",
    "02a-Rests-Durations.xml",
    "02c-Rests-MultiMeasureRests.xml",
    "03aa-Rhythm-Durations.xml",
    "03b-Rhythm-Backup.xml",
    "11a-TimeSignatures.xml",
    "11c-TimeSignatures-CompoundSimple.xml",
    "12ac-Clefs-TAB-Switch.xml",
    "13a-KeySignatures.xml",
    "13b-KeySignatures-ChurchModes.xml",
    "14a-StaffDetails-LineChanges.xml",
    "21c-Chords-ThreeNotesDuration.xml",
    "22a-Noteheads.xml",
    "23a-Tuplets.xml",
    "23d-Tuplets-Nested.xml",
    "24b-ChordAsGraceNote.xml",
    "31a-Directions.xml",
    "33b-Spanners-Tie.xml",
    "41a-MultiParts-Partorder.xml",
    "42a-MultiVoice-TwoVoicesOnStaff-Lyrics.xml",
    "43a-PianoStaff.xml",
    "45b-RepeatWithAlternatives.xml",
    "45e-Repeats-Nested-Alternatives.xml",
    "46c-Midmeasure-Clef.xml",
    "46e-PickupMeasure-SecondVoiceStartsLater.xml",
    "61a-Lyrics.xml",
    "71a-Chordnames.xml",
    "71c-ChordsFrets.xml",
    "72a-TransposingInstruments.xml",
)


@pytest.mark.parametrize("name", SOUND)
def test_files_that_are_sound(name: str) -> None:
    """No error in feature files that show what is unusual and right."""
    errors = [str(f) for f in proofread(SUITE / name).findings if f.severity is Severity.ERROR]
    assert errors == []


# Source: fingered shapes of Carcassi, op. 59, edition of 1906 (the Mutopia project), as worked
# out note by note in the project's collection of trade facts: string:fret/finger.
CARCASSI = {
    "I, C": "5:3/3 4:2/2 3:0/0 2:1/1 1:0/0",
    "I, Dm": "4:3/3 3:2/2 2:3/4 1:1/1",
    "B_II, Bm": "5:2/1 4:4/3 3:4/4 2:3/2 1:2/1",
    "b_I, F": "4:3/3 3:2/2 2:1/1 1:1/1",
    "III, Eb": "5:6/4 4:5/3 3:3/1 2:4/2",
    "III, Cm": "5:3/1 4:5/3 3:5/4 2:4/2",
    "b_IV, E": "6:0/0 3:4/1 2:5/2 1:4/1",
    "B_VI, Bb": "6:6/1 5:8/3 4:8/4 3:7/2 2:6/1 1:6/1",
}
_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_OPEN = (64, 59, 55, 50, 45, 40)


def _grip(shape: str) -> str:
    notes = []
    for index, text in enumerate(shape.split()):
        place, finger = text.split("/")
        string, fret = (int(number) for number in place.split(":"))
        midi = _OPEN[string - 1] + fret
        pitch = f"{_NAMES[midi % 12]}{midi // 12 - 1}"
        notes.append(note(pitch, 8, place=place, finger=finger, chord=index > 0))
    return "".join(notes)


@pytest.mark.parametrize("name", sorted(CARCASSI))
def test_published_fingerings_are_right(name: str) -> None:
    """Published shapes pass every rule of strings, frets, fingers and span."""
    from tests.unit.proof.pages import found

    rules = {one.rule for one in found(tab(_grip(CARCASSI[name])))}
    assert rules == set()


def test_barre_labels_of_the_edition() -> None:
    """The edition's label of a barre at fret 2 fits the shape, and one at fret 4 does not."""
    from tests.unit.proof.pages import found

    words = "<direction><direction-type><words>{}</words></direction-type></direction>"
    grip = _grip(CARCASSI["B_II, Bm"])
    assert found(tab(words.format("B II") + grip)) == []
    assert [f.rule for f in found(tab(words.format("B IV") + grip))] == ["barre-text"]
