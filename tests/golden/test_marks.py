"""What is written under and over the notes of our samples.

``pytest tests/golden/test_marks.py --update-golden`` writes the files anew; look at the difference
before it is committed.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.conftest import Golden
from variants.marks import apply_marks
from variants.marks.lines import CHORDS, COUNTING, NAMES
from variants.musicxml import read
from variants.score import Event, Score

HERE = Path(__file__).parent / "marks"
SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.musicxml"))
# Marks that do not depend on where the hand is.
MARKS = "counting,chords,names,strokes"
_STROKES = {"down-bow": "⊓", "up-bow": "V"}


def told(score: Score) -> str:
    """Return the marks of a score as text: a line for each event, stacked lyrics by slashes."""
    lines = []
    for part in score.parts:
        for measure in part.measures:
            lines.append(f"{part.id} measure {measure.number}")
            for voice in measure.voices:
                lines += [_line(voice.id, event) for event in voice.events]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _line(voice: str, event: Event) -> str:
    what = "+".join(str(note.pitch) for note in event.notes) or "rest"
    stroke = "".join(_STROKES.get(m.name, "") for note in event.notes for m in note.marks)
    columns = [
        "/".join(one.text for one in event.lyrics if one.name == name).replace("\u2009", " ")
        for name in (COUNTING, CHORDS, NAMES)
    ]
    return f"  {voice} {what:<12} {stroke or '-':<2} {' | '.join(columns)}"


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples(path: Path, golden: Golden) -> None:
    """The marks of a sample are those that were looked at."""
    golden(HERE / f"{path.stem}.txt", told(apply_marks(read(path), {}, MARKS)))


def test_every_sample_is_there() -> None:
    """No file is left over from a sample that is gone."""
    assert {path.stem for path in HERE.glob("*.txt")} == {path.stem for path in SAMPLES}
