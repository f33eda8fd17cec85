"""Deriving scores from scores."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, fields, replace

import pytest

from tests.strategies import line, tokens
from variants.music import Interval, NoteValue, Pitch
from variants.score import (
    Change,
    Event,
    Lyric,
    Mark,
    Note,
    Place,
    map_events,
    map_notes,
    with_changes,
    with_notes,
    with_parts,
    without_places,
)

SCORE = line("C4 E4+G4 r C5")


def test_with_notes_copies_everything_else() -> None:
    """The hand-written copy leaves out no field; a new one must be added there."""
    full = Event(
        onset=1,
        duration=2,
        value=NoteValue("half"),
        notes=(Note(Pitch.parse("C4")),),
        staff=2,
        grace=(("slash", "yes"),),
        is_cue=True,
        is_measure_rest=True,
        stem="up",
        beams=("begin",),
        marks=(Mark("slur", "slur", "start", "1", ""),),
        lyrics=(Lyric("1", "single", "la", ""),),
        extras=(),
    )
    other = (Note(Pitch.parse("D4")),)
    assert with_notes(full, other) == replace(full, notes=other)
    # Every field of the sample differs from its default, so that a lost one would show.
    plain = Event(0, 0, NoteValue())
    same = [f.name for f in fields(full) if getattr(full, f.name) == getattr(plain, f.name)]
    assert same == ["extras"]


def test_maps_leave_the_source_alone() -> None:
    """A new part comes out; the old one is as before."""
    part = SCORE.parts[0]
    up = map_notes(part, lambda n: replace(n, pitch=n.pitch and n.pitch + Interval(1, 2)))
    assert tokens(with_parts(SCORE, [up])) == "D4 F#4+A4 r D5"
    assert tokens(SCORE) == "C4 E4+G4 r C5"
    silent = map_events(part, lambda event: with_notes(event, ()))
    assert tokens(with_parts(SCORE, [silent])) == "r r r r"


def test_changes_add_up_and_do_not_compare() -> None:
    """The log grows, and two scores with the same music are equal whatever their logs."""
    once = with_changes(SCORE, [Change("one", "read")])
    twice = with_parts(once, once.parts, [Change("two", "transpose", "3", "2.5")])
    assert [str(change) for change in twice.changes] == ["one", "measure 3, beat 2.5: two"]
    assert twice == SCORE
    assert hash(twice) == hash(SCORE)


def test_scores_cannot_be_changed() -> None:
    """Frozen all the way down."""
    with pytest.raises(FrozenInstanceError):
        SCORE.ticks = 1  # type: ignore[misc]
    with pytest.raises(FrozenInstanceError):
        SCORE.parts[0].measures[0].voices[0].events[0].onset = 1  # type: ignore[misc]


def test_without_places() -> None:
    """Place and fretting finger go, the plucking finger stays; nothing to do, nothing new."""
    note = Note(Pitch.parse("E4"), place=Place(1, 0), finger="0", pluck="m")
    assert without_places(note) == Note(Pitch.parse("E4"), pluck="m")
    bare = Note(Pitch.parse("E4"), pluck="m")
    assert without_places(bare) is bare
