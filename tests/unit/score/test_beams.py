"""Which notes share a beam. The groups are common practice."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from tests.strategies import line
from variants.music import Metre, NoteValue, Pitch
from variants.musicxml import read
from variants.score import Event, Note, map_events
from variants.score import events as all_events
from variants.score.beams import beams
from variants.score.notation import with_beams

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


BEAMED = [
    path
    for path in sorted((Path(__file__).parents[3] / "samples").rglob("*.musicxml"))
    # The tune of the bells is beamed by the beat there, as for children, and by the half here.
    if b"<beam" in path.read_bytes() and path.stem != "frere-jacques"
]


@pytest.mark.parametrize("path", BEAMED, ids=lambda path: path.stem)
def test_a_part_without_beams_gets_those_of_its_metre(path: Path) -> None:
    """Our samples were beamed by hand: without their beams they are beamed the same again."""
    score = read(path)
    for part in score.parts:
        bare = map_events(part, lambda event: replace(event, beams=()))
        wanted = [event.beams for _, event in all_events(part)]
        drawn_anew = [event.beams for _, event in all_events(with_beams(bare, score.ticks))]
        assert drawn_anew == (wanted if any(wanted) else drawn_anew)


def test_a_part_with_some_beams_keeps_its_flags() -> None:
    """Whoever beams some notes and flags others, as over syllables, means it."""
    part = line("E4:e F4:e G4:e A4:e B4:h").parts[0]
    flagged = map_events(
        part, lambda event: replace(event, beams=("begin",)) if event.onset == 0 else event
    )
    assert with_beams(flagged, 12) is flagged
    joined = [event.beams for _, event in all_events(with_beams(part, 12))]
    assert joined == [("begin",), ("continue",), ("continue",), ("end",), ()]


def test_grace_notes_that_follow_one_another_share_a_beam() -> None:
    """Two small eighths before a note are joined, one alone has its flag (common practice)."""
    part = line("E4 F4 G4:h").parts[0]
    small = Event(0, 0, VALUES["e"], (Note(Pitch("D", 0, 4)),), grace=())
    (measure,) = part.measures
    first, second, third = measure.voices[0].events
    later = replace(small, onset=second.onset)
    voice = replace(measure.voices[0], events=(small, small, first, later, second, third))
    with_graces = replace(part, measures=(replace(measure, voices=(voice,)),))
    found = [event.beams for _, event in all_events(with_beams(with_graces, 12))]
    assert found == [("begin",), ("end",), (), (), (), ()]


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
