"""Choosing parts, voices and staves of small scores."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line, tokens
from variants.errors import Refusal
from variants.music import Key
from variants.pipeline import run
from variants.score import (
    Attributes,
    Clef,
    Direction,
    KeySign,
    Score,
    Voice,
    with_parts,
)
from variants.score.survey import survey
from variants.steps import parse_step
from variants.steps.choose_part import ChoosePart


def chosen(text: str, score: Score) -> Score:
    """Return the score after a step, its contract proven."""
    return run(score, [parse_step(f"choose-part:{text}")]).score


def log(score: Score) -> str:
    """Return the change log as text."""
    return " | ".join(str(change) for change in score.changes)


def duet() -> Score:
    """Return a score of two parts."""
    first, second = line("E4 F4 G4 A4").parts[0], line("C3:w").parts[0]
    return with_parts(
        line("r:w"),
        [replace(first, id="P1", name="Flute"), replace(second, id="P2", name="Guitar")],
    )


def two_voices(*, staves: tuple[int, int] = (1, 1)) -> Score:
    """Return a part of two voices, the upper one tied into the lower one's staff."""
    upper, lower = line("E4:h~ E4:h", "G4:w"), line("C3:w", "r:w")
    measures = []
    for index in range(2):
        voices = tuple(
            Voice(
                name,
                tuple(
                    replace(event, staff=staff)
                    for event in one.parts[0].measures[index].voices[0].events
                ),
            )
            for name, one, staff in (("1", upper, staves[0]), ("5", lower, staves[1]))
            if index == 0 or name == "1"
        )
        measures.append(replace(upper.parts[0].measures[index], voices=voices))
    part = replace(upper.parts[0], measures=tuple(measures), staves=max(staves))
    return with_parts(upper, [part])


@pytest.mark.parametrize("text", ["part=P2", "part=Guitar", "part=guitar"])
def test_by_id_and_name(text: str) -> None:
    """Id first, then name, then either without regard to capitals."""
    result = chosen(text, duet())
    assert [part.id for part in result.parts] == ["P2"]
    assert log(result) == "1 part left out: Flute"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("part=Harp", r"there is no part 'Harp'; choose one of P1 \(Flute\), P2 \(Guitar\)"),
        ("voice=1", r"the score has 2 parts; choose one with part=: P1 \(Flute\), P2 \(Guitar\)"),
        ("part=P2,voice=7", r"part P2 has no voice '7'; choose one of 1"),
        ("part=P2,staff=3", r"part P2 has no staff 3; choose one of 1"),
    ],
)
def test_refusals_list_what_there_is(text: str, message: str) -> None:
    """What does not exist is refused with the list of what does."""
    with pytest.raises(Refusal, match=message):
        chosen(text, duet())


def test_names_that_are_not_unique() -> None:
    """Two parts of one name can be told apart by id."""
    score = duet()
    both = with_parts(score, [replace(part, name="Guitar") for part in score.parts])
    with pytest.raises(Refusal, match="several parts are named 'Guitar'; choose one by id: P1, P2"):
        chosen("part=Guitar", both)


def test_one_voice() -> None:
    """The other voice goes; where the chosen one is silent a measure rest stands."""
    result = chosen("voice=5", two_voices())
    assert tokens(result) == "C3 r"
    (measure_1, measure_2) = result.parts[0].measures
    assert measure_2.voices[0].events[0].is_measure_rest
    assert (measure_1.length, measure_2.length) == (48, 48)
    assert "3 notes outside voice 5 left out" in log(result)


def test_directions_of_other_voices_go() -> None:
    """A direction for a voice goes with it; one for nobody in particular stays."""
    score = two_voices()
    first = score.parts[0].measures[0]
    directions = (Direction(0, "", voice="1"), Direction(0, "", voice="5"), Direction(0, ""))
    part = replace(
        score.parts[0],
        measures=(replace(first, directions=directions), score.parts[0].measures[1]),
    )
    result = chosen("voice=5", with_parts(score, [part]))
    assert [one.voice for one in result.parts[0].measures[0].directions] == ["5", ""]


def test_one_staff() -> None:
    """What stands on the other staff goes, and the chosen one is staff 1 of 1."""
    score = two_voices(staves=(1, 2))
    first = score.parts[0].measures[0]
    attributes = Attributes(
        0,
        keys=(KeySign(Key(0), staff=1), KeySign(Key(1), staff=2)),
        clefs=(Clef("G", 2, staff=1), Clef("F", 4, staff=2)),
        staves=2,
        details=('<staff-details number="1"/>', '<staff-details number="2"/>'),
    )
    part = replace(
        score.parts[0],
        measures=(replace(first, attributes=(attributes,)), score.parts[0].measures[1]),
    )
    result = chosen("staff=2", with_parts(score, [part])).parts[0]
    assert result.staves == 1
    assert tokens(with_parts(score, [result])) == "C3 r"
    (changed,) = result.measures[0].attributes
    assert changed.keys == (KeySign(Key(1)),)
    assert changed.clefs == (Clef("F", 4, staff=1),)
    assert changed.details == ("<staff-details/>",)
    assert changed.staves == 0


def test_tie_into_the_other_staff() -> None:
    """A note tied from the other staff goes with it; one tied to it is no longer tied."""
    score = two_voices(staves=(1, 2))
    first = score.parts[0].measures[0]
    events = first.voices[0].events
    crossing = Voice("1", (events[0], replace(events[1], staff=2)))
    part = replace(
        score.parts[0],
        measures=(replace(first, voices=(crossing, first.voices[1])), score.parts[0].measures[1]),
    )
    crossed = with_parts(score, [part])
    for staff, left in ((1, "E4 G4"), (2, "r C3 r")):
        result = chosen(f"staff={staff}", crossed)
        assert not survey(result).parts[0].loose_ties
        assert tokens(result) == left


def test_only_part_needs_no_name() -> None:
    """In a score of one part a voice can be chosen at once."""
    assert ChoosePart(voice="1")(two_voices()).parts[0].measures[0].voices[0].id == "1"
