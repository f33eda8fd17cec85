"""How an easy edition writes a push, a rest that makes a riff, and dotted beats.

Common practice of easy editions and lead sheets: a note that is struck just before a beat and held
over it is an anticipation of that beat, and is written on it; a rest on a beat belongs to the
figure and is not played over; in a compound metre the dotted note is the beat.
"""

from __future__ import annotations

import pytest

from tests.strategies import line
from variants.music import Metre, NoteValue, Pitch
from variants.score import Attributes, Event, Measure, Note, Part, Score, Voice
from variants.steps.simplify_rhythm import SimplifyRhythm


def begins(score: Score) -> list[str]:
    """Return what begins where: measure, quarters from its start, name."""
    return [
        f"{measure.number}:{event.onset / score.ticks:g} {note.pitch}"
        for measure in score.parts[0].measures
        for event in measure.voices[0].events
        for note in event.notes
        if not note.tie_stop
    ]


@pytest.mark.parametrize(
    ("before", "after"),
    [
        # the last eighth, tied over the barline, is the next downbeat
        (("C4:h. D4:e E4:e~", "E4:w"), ["1:0 C4", "1:3 D4", "1:3.5 E4"]),
        (("C4:h D4:q. E4:e~", "E4:w"), ["1:0 C4", "1:2 D4", "2:0 E4"]),
        # a push in the middle of the measure
        (("C4:q. D4:e~ D4:h",), ["1:0 C4", "1:2 D4"]),
        # a 16th before the beat, held over it
        (("C4:e. D4:s~ D4 E4:h",), ["1:0 C4", "1:1 D4", "1:2 E4"]),
    ],
)
def test_a_push_belongs_to_the_beat_it_is_held_over(
    before: tuple[str, ...], after: list[str]
) -> None:
    """Common practice. The first row: its downbeat is free, so the push takes it."""
    result = begins(SimplifyRhythm()(line(*before)))
    if before[0].startswith("C4:h."):
        after = [*after[:2], "2:0 E4"]
    assert result == after


@pytest.mark.parametrize(
    "riff",
    [
        "r:e E4:e G4 r:e A4:e B4",
        "E4 r G4:e A4:e r",
        "r:e E4:e r:e E4:e r:e E4:e r:e E4:e",
        "E4:e G4:e r A4:e B4:e r",
    ],
)
def test_rests_on_beats_make_the_riff(riff: str) -> None:
    """Common practice: where a beat is silent in the riff it is silent in its easy version."""
    score = line(riff)
    for keep in ("all", "strong"):
        result = SimplifyRhythm(keep=keep)(score)
        for beat in range(4):
            assert sounds(result, beat) == sounds(score, beat), (keep, beat)


def sounds(score: Score, beat: int) -> bool:
    """Whether a note sounds at a beat of the first measure."""
    at = beat * score.ticks
    events = score.parts[0].measures[0].voices[0].events
    return any(event.notes and event.onset <= at < event.end for event in events)


def test_compound_metres_speak_of_dotted_beats() -> None:
    """6/8 is counted in two dotted quarters (any book of theory); the log says so."""
    eighth = NoteValue("eighth")
    events = tuple(
        Event(6 * index, 6, eighth, (Note(Pitch.parse(f"{name}4")),))
        for index, name in enumerate("CDEFGA")
    )
    first = Attributes(0, metre=Metre(("6",), (8,)))
    measure = Measure("1", 36, (Voice("1", events),), attributes=(first,))
    result = SimplifyRhythm(keep="strong")(Score(12, (Part("P1", "Guitar", (measure,)),)))
    assert "on a grid of dotted quarters" in result.changes[0].message
    assert begins(result) == ["1:0 C4", "1:1.5 F4", "1:2.5 A4"]
