"""Plucking fingers, and circled strings."""

from __future__ import annotations

import pytest

from tests.unit.marks.figures import figure
from variants.guitar import instrument_for, parse_tuning
from variants.marks import apply_marks
from variants.score import Score


def plucks(score: Score) -> str:
    """Return the fingers of each event, all voices one after the other."""
    return " ".join(
        "".join(note.pluck or "-" for note in event.notes) or "r"
        for measure in score.parts[0].measures
        for voice in measure.voices
        for event in voice.events
    )


@pytest.mark.parametrize(
    ("rhythm", "expected"),
    [
        # An arpeggio: each string has its finger.
        ("e:C3@5.3 e:G3@3.0 e:C4@2.1 e:E4@1.0 e:C4@2.1 e:G3@3.0 q:C4@2.1", "p i m a m i m"),
        # Repeated notes on one string alternate.
        ("q:E4@1.0 q:E4@1.0 q:F4@1.1 q:G4@1.3", "i m i m"),
        # A scale over the strings alternates too.
        ("q:C3@5.3 q:D3@4.0 q:E3@4.2 q:G3@3.0", "i m i m"),
        # A line on bass strings is the thumb's.
        ("q:E2@6.0 q:A2@5.0 q:C3@5.3 q:D3@4.0", "p p p p"),
        # Chords.
        ("h:C3@5.3+G3@3.0+C4@2.1+E4@1.0 h:G3@3.0+C4@2.1+E4@1.0", "pima ima"),
        ("h:A2@5.0+E4@1.0 h:E2@6.0+B2@5.2", "pa pi"),
        ("w:E2@6.0+B2@5.2+E3@4.2+G3@3.0+B3@2.0+E4@1.0", "pppima"),
        ("w:A2@5.0+E3@4.2+A3@3.2+C4@2.1+E4@1.0", "ppima"),
        # Bass and melody in turn.
        ("e:E2@6.0 e:B3@2.0 e:B2@5.2 e:B3@2.0 e:E2@6.0 e:E4@1.0 e:B2@5.2 e:E4@1.0",
         "p m p i p a p m"),
        # Without a place there is nothing to say.
        ("q q rh", "- - r"),
    ],
)  # fmt: skip
def test_fingers(rhythm: str, expected: str) -> None:
    """Thumb on the bass strings, i m a on 3 2 1, i and m in turn in a line."""
    assert plucks(apply_marks(figure("4/4", rhythm), {}, "plucking")) == expected


def test_lower_voice_is_the_thumb_s() -> None:
    """The thumb takes the bass voice wherever it lies."""
    score = figure("2/4", "q:E4@1.0 q:F4@1.1", "h:G3@3.0")
    assert plucks(apply_marks(score, {}, "plucking")) == "a m p"


def test_held_notes_are_not_plucked() -> None:
    """A note that is tied over has no finger."""
    score = figure("2/4", "q~:E4@1.0 q:E4@1.0")
    assert plucks(apply_marks(score, {}, "plucking")) == "a -"


def test_bass_guitar_alternates() -> None:
    """On a bass every line alternates i and m."""
    bass = instrument_for(parse_tuning("bass-4"))
    score = figure("4/4", "q:E1@4.0 q:E1@4.0 q:A1@3.0 q:D2@2.0", instrument=bass)
    assert plucks(apply_marks(score, {}, "plucking")) == "i m i m"


def circles(score: Score) -> str:
    """Return the circled strings of each event."""
    return " ".join(
        "".join(m.xml[8:9] for note in event.notes for m in note.marks if m.name == "string") or "-"
        for measure in score.parts[0].measures
        for voice in measure.voices
        for event in voice.events
    )


@pytest.mark.parametrize(
    ("rhythm", "moved", "every"),
    [
        ("q:E4@1.0 q:F4@1.1 q:B3@2.0 q:G3@3.0", "- - - -", "1 1 2 3"),
        ("q:B3@3.4 q:C4@3.5 q:E4@2.5 q:F4@2.6", "3 - 2 -", "3 3 2 2"),
        ("q:B3@3.4 q:E4@1.0 q:B3@3.4 q:C4@3.5", "3 - 3 -", "3 1 3 3"),
        ("h:B3@3.4+E4@1.0 h:E2@6.0+B3@3.4", "3 -", "31 63"),
    ],
)
def test_circled_strings(rhythm: str, moved: str, every: str) -> None:
    """A string is named where it is not the obvious one, until the line leaves it."""
    score = figure("4/4", rhythm)
    assert circles(apply_marks(score, {}, "strings")) == moved
    assert circles(apply_marks(score, {}, "strings=all")) == every
