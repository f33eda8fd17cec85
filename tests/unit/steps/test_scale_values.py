"""Doubled and halved values on small scores."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import line, tokens
from variants.contract import Promise
from variants.errors import Refusal, UsageError
from variants.music import Metre, NoteValue
from variants.pipeline import run
from variants.score import (
    Attributes,
    Barline,
    Direction,
    Harmony,
    Mark,
    Score,
    Voice,
    events,
    with_parts,
)
from variants.steps import Step, parse_step
from variants.steps.measures import Measures
from variants.steps.scale_values import ScaleValues

SIX_EIGHT = Metre(("6",), (8,))

TEMPO = Direction(
    0,
    "<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>80</per-minute>"
    "</metronome></direction-type>",
    '<sound tempo="80"/>',
    quarters_per_minute=Fraction(80),
)


def scaled(score: Score, text: str = "scale-values") -> Score:
    """Return the score after the step, proven."""
    return run(score, [parse_step(text)]).score


def with_first(score: Score, **changes: object) -> Score:
    """Return the score with its first measure changed."""
    part = score.parts[0]
    first = replace(part.measures[0], **changes)  # type: ignore[arg-type]
    return with_parts(score, [replace(part, measures=(first, *part.measures[1:]))])


def values(score: Score) -> list[str]:
    """Return the values of a score in words."""
    return [str(event.value) for _, event in events(score.parts[0])]


def test_doubled() -> None:
    """Values, metre, lengths and onsets are twice as long; the notes are the same."""
    done = scaled(line("E4:e F4:e G4 A4:h", "C5:w"))
    assert tokens(done) == "E4 F4 G4 A4 C5"
    assert values(done) == ["quarter", "quarter", "half", "whole", "breve"]
    assert done.parts[0].measures[0].attributes[0].metre == Metre(("4",), (2,))
    assert Fraction(done.parts[0].measures[0].length, done.ticks) == 8


def test_halved_and_back() -> None:
    """Doubling what was halved gives the same values, metre and beams."""
    score = scaled(scaled(line("E4 F4 G4:e A4:e B4")), "scale-values:factor=1/2")
    assert values(score) == values(line("E4 F4 G4:e A4:e B4"))
    assert score.parts[0].measures[0].attributes[0].metre == Metre()


def test_beams_are_drawn_anew() -> None:
    """Halved quarters are beamed eighths, doubled eighths have no beams."""
    halved = scaled(line("E4 F4 G4 A4"), "scale-values:factor=1/2")
    beams = [event.beams for _, event in events(halved.parts[0])]
    assert beams == [("begin",), ("continue",), ("continue",), ("end",)]
    doubled = scaled(halved)
    assert [event.beams for _, event in events(doubled.parts[0])] == [()] * 4


@pytest.mark.parametrize(
    ("text", "unit", "rate", "sound"),
    [
        ("scale-values", "half", "80", Fraction(160)),
        ("scale-values:factor=1/2", "eighth", "80", Fraction(40)),
        ("scale-values:tempo=keep", "quarter", "80", Fraction(80)),
    ],
)
def test_tempo(text: str, unit: str, rate: str, sound: Fraction) -> None:
    """Alike: the mark counts the other value, so it sounds as before. Keep: the mark stays."""
    done = scaled(with_first(line("E4:w"), directions=(TEMPO,)), text)
    mark = done.parts[0].measures[0].directions[0]
    assert f"<beat-unit>{unit}</beat-unit>" in mark.xml
    assert f"<per-minute>{rate}</per-minute>" in mark.xml
    assert mark.quarters_per_minute == sound
    assert f'tempo="{sound}"' in mark.sound


def test_chord_symbols_and_tuplets_move_along() -> None:
    """A chord symbol on beat 3 stays there; a triplet counts the other value."""
    score = with_first(line("E4:h F4:h"), harmonies=(Harmony(24, ("C", 0)),))
    assert scaled(score).parts[0].measures[0].harmonies[0].onset == 48
    triplet = NoteValue("eighth", 0, 3, 2, "eighth")
    bracket = Mark(
        "tuplet",
        "tuplet",
        "start",
        "1",
        "<tuplet><tuplet-actual><tuplet-type>eighth</tuplet-type></tuplet-actual></tuplet>",
    )
    row = [
        replace(event, value=triplet, duration=4, onset=4 * i, marks=(bracket,) * (i == 0))
        for i, (_, event) in enumerate(events(line("E4 F4 G4").parts[0]))
    ]
    score = with_first(line("E4 F4 G4"), voices=(Voice("1", tuple(row)),), length=12)
    done = [event for _, event in events(scaled(score).parts[0])]
    assert {event.value for event in done} == {NoteValue("quarter", 0, 3, 2, "quarter")}
    assert "<tuplet-type>quarter</tuplet-type>" in done[0].marks[0].xml


def test_odd_ticks_are_halved() -> None:
    """Halving needs no even number of ticks."""
    done = scaled(line("E4 F4 G4 A4", ticks=1), "scale-values:factor=1/2")
    assert Fraction(done.parts[0].measures[0].length, done.ticks) == 2


def test_without_a_metre_one_is_written() -> None:
    """Music without a time signature is read in common time, so the doubled one says 4/2."""
    done = scaled(with_first(line("E4:w"), attributes=()))
    assert done.parts[0].measures[0].attributes[0].metre == Metre(("4",), (2,))


def test_refusals() -> None:
    """A value or a metre without a name is refused with its measure."""
    long = with_first(line("E4:w"), attributes=(Attributes(0, metre=Metre(("4",), (1,))),))
    with pytest.raises(Refusal, match="measure 1, beat 1: 4/1 cannot be doubled"):
        run(long, [ScaleValues()])
    short = with_first(line("E4:w"), attributes=(Attributes(0, metre=Metre(("4",), (64,))),))
    with pytest.raises(Refusal, match="4/64 cannot be halved"):
        run(short, [ScaleValues(factor="1/2")])


def bars(score: Score) -> list[str]:
    """Return each measure as its number, values and ties: ``1: quarter half~``."""
    return [
        f"{measure.number}: "
        + " ".join(
            str(event.value).replace("dotted ", ".")
            + ("~" if any(note.tie_start for note in event.notes) else "")
            for event in measure.voices[0].events
        )
        for measure in score.parts[0].measures
    ]


def test_the_metre_stays() -> None:
    """Each measure becomes two in the metre as it was; what lasts over the middle is tied."""
    done = scaled(line("E4:e F4:e G4 A4:h", "C4 D4:h E4"), "scale-values:metre=same")
    assert bars(done) == [
        "1: quarter quarter half",
        "2: whole",
        "3: half half~",
        "4: half half",
    ]
    attributes = [one for m in done.parts[0].measures for one in m.attributes]
    assert [one.metre for one in attributes] == [Metre()]
    assert tokens(done) == "E4 F4 G4 A4 C4 D4~ D4 E4"
    assert str(done.changes[0]) == (
        "every note is written twice as long, and 4/4 stays; it sounds as fast as before;"
        " 2 measures became 4, numbered anew"
    )


def test_signs_fall_into_their_half() -> None:
    """A chord symbol on beat 3 stands at the start of the second half, the repeat at its end."""
    sign = Barline("right", 48, repeat="backward")
    score = with_first(line("E4:h F4:h"), harmonies=(Harmony(24, ("C", 0)),), barlines=(sign,))
    first, second = scaled(score, "scale-values:metre=same").parts[0].measures
    assert (first.harmonies, first.barlines) == ((), ())
    assert [one.onset for one in second.harmonies] == [0]
    assert [one.repeat for one in second.barlines] == ["backward"]


def test_a_pick_up_stays_one_measure() -> None:
    """A quarter before 4/4 becomes a half before 4/4; three quarters become two measures."""
    for text, expected in (
        ("G4", ["0: half", "1: half half", "2: half half"]),
        ("G4 A4 B4", ["0: half", "1: half half", "2: half half", "3: half half"]),
    ):
        score = with_first(line(text, "C4 D4 E4 F4"), number="0", is_implicit=True)
        done = scaled(score, "scale-values:metre=same")
        assert bars(done) == expected
        assert [one.is_implicit for one in done.parts[0].measures] == [
            True,
            *[False] * (len(expected) - 1),
        ]


def test_jigs_are_cut_at_their_second_beat() -> None:
    """6/8 doubled is two measures of 3/4; 3/4 has no beat in its middle, and halves none to cut."""
    jig = with_first(line("E4:e F4:e G4:e A4:q."), attributes=(Attributes(0, metre=SIX_EIGHT),),
                     length=36)  # fmt: skip
    assert bars(scaled(jig, "scale-values:metre=same")) == [
        "1: quarter quarter quarter",
        "2: .half",
    ]
    done = run(jig, [ScaleValues(metre="same")])
    assert [one.metre for one in done.score.parts[0].measures[0].attributes] == [
        Metre(("3",), (4,))
    ]
    assert "6/8 becomes 3/4" in done.changes[-1].message
    waltz = with_first(line("E4:h."), attributes=(Attributes(0, metre=Metre(("3",), (4,))),))
    with pytest.raises(Refusal, match="measure 1, beat 1: 3/4 has no beat in its middle"):
        run(waltz, [ScaleValues(metre="same")])
    with pytest.raises(UsageError, match="only doubled values can keep their metre"):
        parse_step("scale-values:factor=1/2,metre=same")


def test_steps_after_a_cut_name_the_new_measures() -> None:
    """A range after the cut counts the halves; what the whole promises can then not be told."""
    steps: list[Step] = [ScaleValues(metre="same"), Measures(range="2-3")]
    done = run(line("E4:h F4:h", "G4:h A4:h"), steps)
    assert tokens(done.score) == "F4 G4"
    assert done.kept == frozenset()
    before = run(line("E4:h F4:h", "G4:h A4:h"), [Measures(range="2"), ScaleValues(metre="same")])
    assert tokens(before.score) == "G4 A4"
    assert before.kept == {Promise.PITCH_CLASS_ORDER}
