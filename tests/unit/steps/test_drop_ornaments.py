"""Ornaments taken away, main notes left."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line, tokens
from variants.errors import UsageError
from variants.music import NoteValue, Pitch
from variants.pipeline import run
from variants.score import Event, Mark, Note, Score, Voice, events, with_parts
from variants.steps import parse_step
from variants.steps.drop_ornaments import DropOrnaments


def mark(family: str, name: str, role: str = "") -> Mark:
    """Return a mark."""
    return Mark(family, name, role, "1" if role else "", f"<{name}/>")


def with_event(score: Score, index: int, **changes: object) -> Score:
    """Return the score with one event of its first measure changed."""
    part = score.parts[0]
    first = part.measures[0]
    row = list(first.voices[0].events)
    row[index] = replace(row[index], **changes)  # type: ignore[arg-type]
    measure = replace(first, voices=(Voice("1", tuple(row)),))
    return with_parts(score, [replace(part, measures=(measure, *part.measures[1:]))])


def with_graces(score: Score, index: int, *names: str, tied: bool = False) -> Score:
    """Return the score with grace notes before an event of its first measure."""
    part = score.parts[0]
    first = part.measures[0]
    row = list(first.voices[0].events)
    onset = row[index].onset
    graces = [
        Event(onset, 0, NoteValue("16th"), (Note(Pitch.parse(n), tie_start=tied),), grace=())
        for n in names
    ]
    row[index:index] = graces
    measure = replace(first, voices=(Voice("1", tuple(row)),))
    return with_parts(score, [replace(part, measures=(measure, *part.measures[1:]))])


def messages(score: Score, text: str = "drop-ornaments") -> list[str]:
    """Return the change log of the step."""
    return [str(change) for change in run(score, [parse_step(text)]).changes]


def test_grace_notes_go() -> None:
    """The main notes stay, the graces go, and the log names them."""
    score = with_graces(line("E4 F4 G4 A4"), 1, "G4", "E4")
    done = run(score, [DropOrnaments()])
    assert tokens(done.score) == "E4 F4 G4 A4"
    assert [str(one) for one in done.changes] == [
        "measure 1, beat 2: the grace notes G4 E4 left out"
    ]


def test_tied_grace_notes_stay() -> None:
    """A grace note tied to its main note is that note struck early."""
    part = with_graces(line("E4 F4"), 1, "F4", tied=True).parts[0]
    row = list(part.measures[0].voices[0].events)
    row[2] = replace(row[2], notes=(replace(row[2].notes[0], tie_stop=True),))
    measure = replace(part.measures[0], voices=(Voice("1", tuple(row)),))
    score = with_parts(line("E4 F4"), [replace(part, measures=(measure,))])
    done = run(score, [DropOrnaments()])
    assert len(list(events(done.score.parts[0]))) == 3
    assert "tied to what follows" in done.changes[0].message


@pytest.mark.parametrize(
    ("family", "name", "words"),
    [
        ("technical", "bend", "the bend left out: play F4 plain"),
        ("ornaments", "trill-mark", "the trill left out: play F4 plain"),
        ("ornaments", "tremolo", "the tremolo left out: play F4 plain"),
        ("ornaments", "inverted-mordent", "the mordent left out: play F4 plain"),
        ("ornaments", "turn", "the turn left out: play F4 plain"),
        ("arpeggiate", "arpeggiate", "the arpeggio sign left out: play F4 plain"),
    ],
)
def test_signs_go(family: str, name: str, words: str) -> None:
    """Each ornament goes and the log says what to play."""
    score = with_event(line("E4 F4 G4:h"), 1, marks=(mark(family, name),))
    done = run(score, [DropOrnaments()])
    assert done.score.parts[0] == line("E4 F4 G4:h").parts[0]
    assert [str(one) for one in done.changes] == [f"measure 1, beat 2: {words}"]


def test_a_slide_goes_at_both_ends() -> None:
    """A slide is one ornament with two ends."""
    score = with_event(line("E4 F4 G4:h"), 0, marks=(mark("slide", "slide", "start"),))
    score = with_event(score, 1, marks=(mark("slide", "slide", "stop"),))
    assert messages(score) == ["measure 1, beat 1: the slide left out: play E4 plain"]


def test_what_is_no_ornament_stays() -> None:
    """Slurs, hammer-ons, staccato and fingers are not ornaments."""
    marks = (
        mark("technical", "hammer-on", "start"),
        mark("articulations", "staccato"),
        mark("slur", "slur", "start"),
    )
    score = with_event(line("E4 F4 G4:h"), 0, marks=marks)
    done = run(score, [DropOrnaments()])
    assert done.score.parts == score.parts
    assert messages(score) == ["there are no such ornaments"]


def test_only_some_kinds() -> None:
    """kinds= names what goes."""
    score = with_event(line("E4 F4"), 0, marks=(mark("ornaments", "trill-mark"),))
    score = with_graces(score, 1, "G4")
    done = run(score, [parse_step("drop-ornaments:kinds=grace")])
    assert tokens(done.score) == "E4 F4"
    assert done.score.parts[0].measures[0].voices[0].events[0].marks


def test_halves_of_a_tremolo_become_plain_notes() -> None:
    """Two half notes in the time of one are two quarters."""
    score = line("E4 G4 r:h")
    half = NoteValue("half", 0, 2, 1)
    for index, role in ((0, "start"), (1, "stop")):
        tremolo = mark("ornaments", "tremolo", role)
        score = with_event(score, index, value=half, marks=(tremolo,))
    done = run(score, [DropOrnaments()])
    assert [event.value for _, event in events(done.score.parts[0])][:2] == [
        NoteValue("quarter")
    ] * 2


def test_wrong_kind() -> None:
    """An unknown kind is named with those that are known."""
    with pytest.raises(UsageError, match="use grace, bend"):
        parse_step("drop-ornaments:kinds=vibrato")
