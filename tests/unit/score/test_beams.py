"""Which notes share a beam. The groups are common practice."""

from __future__ import annotations

from fractions import Fraction

import pytest

from variants.music import Metre, NoteValue, Pitch
from variants.score import Event, Note
from variants.score.beams import beams

TICKS = 48
VALUES = {
    "q": NoteValue("quarter"),
    "e": NoteValue("eighth"),
    "e.": NoteValue("eighth", 1),
    "s": NoteValue("16th"),
    "t": NoteValue("eighth", 0, 3, 2),
    "x": NoteValue("32nd"),
}
SHORT = {"begin": "[", "continue": "=", "end": "]", "forward hook": ">", "backward hook": "<"}


def drawn(text: str, metre: Metre, *, shift: int = 0) -> str:
    """Return the beams of a measure, a word for each event; ``r`` before a value is a rest."""
    events, onset = [], 0
    for token in text.split():
        value = VALUES[token.lstrip("r")]
        duration = int((value.quarters or Fraction(0)) * TICKS)
        notes = () if token.startswith("r") else (Note(Pitch("C", 0, 4)),)
        events.append(Event(onset, duration, value, notes))
        onset += duration
    values = beams(events, metre, ticks=TICKS, shift=shift)
    return " ".join("".join(SHORT[one] for one in value) or "-" for value in values)


@pytest.mark.parametrize(
    ("metre", "notes", "expected"),
    [
        (Metre(), "e e e e e e e e", "[ = = ] [ = = ]"),
        (Metre(), "q e e e q e", "- [ ] - - -"),
        (Metre(), "e e s s e q q", "[ ] [[ =] ] - -"),
        (Metre(), "e e re e q q", "[ ] - - - -"),
        (Metre(), "e. s s e. q q", "[ ]< [> ] - -"),
        (Metre(), "s e s q q q", "[> = ]< - - -"),
        (Metre(), "t t t e e q q", "[ = ] [ ] - -"),
        (Metre(), "e x x s q q q", "[ =[[ ==] ]] - - -"),
        (Metre(("3",), (4,)), "e e e e e e", "[ ] [ ] [ ]"),
        (Metre(("6",), (8,)), "e e e e e e", "[ = ] [ = ]"),
        (Metre(("3+2",), (8,)), "e e e e e", "[ = ] [ ]"),
        (Metre(("7",), (8,)), "e e e e e e e", "[ ] [ ] [ = ]"),
    ],
)
def test_groups(metre: Metre, notes: str, expected: str) -> None:
    """Beams show half measures or beats; hooks point at what completes them. Common practice."""
    assert drawn(notes, metre) == expected


def test_pick_up_groups_end_with_the_measure() -> None:
    """Three eighths before the first downbeat of 4/4 are the last three. Common practice."""
    assert drawn("e e e", Metre(), shift=5 * TICKS // 2) == "[ = ]"
    assert drawn("e e e", Metre(("3",), (4,)), shift=3 * TICKS // 2) == "- [ ]"


def test_grace_notes_keep_their_beams() -> None:
    """Grace notes are beamed by themselves and do not break the beam around them."""
    note = (Note(Pitch("C", 0, 4)),)
    eighth = NoteValue("eighth")
    events = [
        Event(0, 24, eighth, note),
        Event(24, 0, eighth, note, grace=(), beams=("begin",)),
        Event(24, 0, eighth, note, grace=(), beams=("end",)),
        Event(24, 24, eighth, note),
    ]
    expected = [("begin",), ("begin",), ("end",), ("end",)]
    assert beams(events, Metre(), ticks=TICKS) == expected
