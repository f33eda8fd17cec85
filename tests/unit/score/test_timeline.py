"""What is in force where, and what begins when."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import line
from variants.music import Key, Metre, NoteValue, Pitch
from variants.score import (
    Attributes,
    Direction,
    Event,
    KeySign,
    Measure,
    Note,
    Part,
    Score,
    Voice,
    events,
    key_at_start,
    measures,
    notes,
    onsets,
    place_text,
)

QUARTER = NoteValue("quarter")


def at(onset: int, *names: str, **more: object) -> Event:
    """Return a quarter of 12 ticks."""
    sounding = tuple(Note(Pitch.parse(name)) for name in names)
    return replace(Event(onset, 12, QUARTER, sounding), **more)  # type: ignore[arg-type]


def part_of(*voices: tuple[Event, ...], length: int = 48) -> Part:
    """Return a part of one measure."""
    found = tuple(Voice(str(number), one) for number, one in enumerate(voices, 1))
    return Part("P1", "Guitar", (Measure("1", length, found),))


def test_onsets_gather_all_voices() -> None:
    """What begins together is one onset, whatever its voice; heights ascend."""
    part = part_of((at(0, "E4"), at(12, "F4")), (at(0, "C3", "G3"),))
    assert [(o.tick, o.semitones) for o in onsets(part)] == [(0, (48, 55, 64)), (12, (65,))]


def test_held_notes_are_no_onset() -> None:
    """A note that is tied to is not struck again."""
    score = line("E4:h~ E4:h", "E4+G4:w")
    assert [(o.measure, o.tick) for o in onsets(score.parts[0])] == [(0, 0), (1, 0)]


def test_grace_notes_come_before() -> None:
    """Grace notes count back from the note that they lean on; trailing ones from the end."""
    lean = [at(tick, name, duration=0, grace=()) for tick, name in ((12, "A4"), (12, "B4"))]
    part = part_of((*lean, at(12, "C5"), at(24, "D5", duration=0, grace=())))
    assert [(o.tick, o.grace) for o in onsets(part)] == [(12, -2), (12, -1), (12, 0), (24, -1)]


def test_cue_and_unpitched_notes_do_not_count() -> None:
    """What is not played or has no height begins nothing."""
    drum = Event(0, 12, QUARTER, (Note(None),))
    part = part_of((at(0, "E4", is_cue=True), at(12, "F4")), (drum,))
    assert [o.tick for o in onsets(part)] == [12]


def test_what_is_in_force() -> None:
    """They hold until they change, in mid-measure too; the first tempo from the beginning."""
    changes = (
        Attributes(0, (KeySign(Key(1)),), Metre(("3",), (4,))),
        Attributes(24, (KeySign(Key(2)),)),
    )
    tempo = Direction(12, "", quarters_per_minute=Fraction(90))
    first = Measure("1", 36, attributes=changes, directions=(tempo,))
    part = Part("P1", "", (Measure("0", 12, is_implicit=True), first, Measure("2", 36)))
    views = measures(part, 12)
    assert [view.key.fifths for view in views] == [0, 1, 2]
    assert [str(view.metre) for view in views] == ["4/4", "3/4", "3/4"]
    assert [view.quarters_per_minute for view in views] == [90, 90, 90]
    assert [view.start for view in views] == [0, 12, 48]
    with pytest.raises(IndexError):
        place_text(Score(12, (part,)), part, 3, 0)


@pytest.mark.parametrize(
    ("tick", "text"), [(0, "1"), (6, "1.5"), (12, "2"), (4, "1 1/3"), (3, "1.25"), (45, "4.75")]
)
def test_beats_for_people(tick: int, text: str) -> None:
    """Halves and quarters as decimals, thirds as fractions."""
    assert measures(line("C4:w").parts[0], 12)[0].beat_text(tick) == text


def test_pick_up_counts_from_the_end() -> None:
    """An eighth before the first full measure of common time is at beat 4.5 (common practice)."""
    pick_up = Measure("0", 6, is_implicit=True, attributes=(Attributes(0, metre=Metre()),))
    assert measures(Part("P1", "", (pick_up,)), 12)[0].beat_text(0) == "4.5"


def test_places_for_people() -> None:
    """The part is named where there are several."""
    score = line("C4 D4 E4:h", "E4:w")
    assert place_text(score, score.parts[0], 1, 0) == "measure 2, beat 1"
    two = Score(12, (*score.parts, replace(score.parts[0], id="P2", name="")))
    assert place_text(two, two.parts[0], 0, 12) == "part Guitar, measure 1, beat 2"
    assert place_text(two, two.parts[1], 0, 12) == "part P2, measure 1, beat 2"


def test_key_at_start() -> None:
    """The first signature, if it comes before any music."""
    assert key_at_start(line("C4:w").parts[0]) == Key(0)
    assert key_at_start(part_of((at(0, "C4"),))) is None
    assert key_at_start(Part("P1", "", ())) is None


def test_iterators() -> None:
    """Every event and every note, rests among the events."""
    part = line("C4+E4 r:h. ").parts[0]
    assert [index for index, _ in events(part)] == [0, 0]
    assert [str(note.pitch) for note in notes(part)] == ["C4", "E4"]
