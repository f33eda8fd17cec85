"""From a score as read to a proven variant."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.cli.calling import DUET, RIFF
from tests.strategies import line
from variants.contract import Promise
from variants.errors import ContractBroken, Refusal, UsageError
from variants.fingering import Settings
from variants.marks import parse_marks
from variants.musicxml import read_raw
from variants.prepare import Strings
from variants.score import Score, notes
from variants.steps import parse_step
from variants.variant import Wishes, make_variant, written

RAW = read_raw(RIFF.read_bytes())
READING_ONLY = Wishes(marks=(), has_tab=False)


def _made(*steps: str, score: Score = RAW, wishes: Wishes | None = None) -> Score:
    return make_variant(score, [parse_step(one) for one in steps], wishes or Wishes()).score


def test_without_steps() -> None:
    """No step keeps every pitch; every note gets a place and a finger."""
    made = make_variant(RAW, [], Wishes())
    assert Promise.SOUNDING_PITCHES in made.kept
    assert all(note.place for note in notes(made.score.parts[0]))
    assert made.hands[0]
    assert made.interval is None


def test_reading_only_is_not_fingered() -> None:
    """Where nothing of the hand is printed no hand is looked for."""
    made = make_variant(RAW, [], READING_ONLY)
    assert made.hands == {}
    assert not any(note.place for note in notes(made.score.parts[0]))


def test_counting_needs_no_hand() -> None:
    """Counting under a reading staff is no matter of the hand."""
    wishes = Wishes(marks=parse_marks("counting"), has_tab=False)
    made = make_variant(RAW, [], wishes)
    assert made.hands == {}
    assert any(e.lyrics for m in made.score.parts[0].measures for v in m.voices for e in v.events)


def test_leading_choose_part_chooses_for_the_player() -> None:
    """What choose-part leaves at the head of the steps is the player's part."""
    duet = read_raw(DUET.read_bytes())
    assert [part.id for part in _made("choose-part:part=P2", score=duet).parts] == ["P2"]
    with pytest.raises(UsageError, match="2 parts"):
        _made("transpose:interval=M2", score=duet)


def test_moved_by() -> None:
    """The interval is that of all the steps together."""
    steps = [parse_step(one) for one in ("transpose:interval=M2", "transpose:interval=m3")]
    made = make_variant(RAW, steps, Wishes())
    assert str(made.interval) == "P4"
    assert Promise.SHIFTED_PITCH_CLASSES in made.kept


def test_refusals_come_through() -> None:
    """A step that cannot be applied, and notes that no hand reaches, are refused with a place."""
    with pytest.raises(Refusal, match="one string") as refused:
        _made("single-string:string=6")
    assert refused.value.place == "measure 1, beat 1"
    with pytest.raises(Refusal) as unplayable:
        _made(wishes=Wishes(strings=Strings(tuning="ukulele")))
    assert unplayable.value.place == "measure 1, beat 1"


@pytest.mark.parametrize("staves", ["notation", "tab", "both"])
@pytest.mark.parametrize("mxl", [False, True])
def test_written_is_read_again(staves: str, *, mxl: bool) -> None:
    """What is written has been found to be the score."""
    score = _made("invert-dyads")
    back = read_raw(written(score, staves=staves, mxl=mxl))
    assert [n.pitch for n in notes(back.parts[0])] == [n.pitch for n in notes(score.parts[0])]


def test_a_writer_that_errs_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    """Bytes that do not hold the score are never returned."""
    other = written(_made("transpose:interval=M2"))
    monkeypatch.setattr("variants.variant.to_bytes", lambda *_, **__: other)
    with pytest.raises(ContractBroken, match="writing"):
        written(_made())


def test_unpitched_part_is_left_alone() -> None:
    """A part without pitches is no matter for a guitar, and the log says so."""
    score = line("E3 E3 E3 E3")
    part = score.parts[0]
    drums = tuple(
        replace(
            m,
            voices=tuple(
                replace(
                    v,
                    events=tuple(
                        replace(e, notes=tuple(replace(n, pitch=None) for n in e.notes))
                        for e in v.events
                    ),
                )
                for v in m.voices
            ),
        )
        for m in part.measures
    )
    score = replace(score, parts=(replace(part, measures=drums, instrument=None),))
    made = make_variant(score, [], Wishes())
    assert made.hands == {}
    assert "no pitched notes" in made.changes[-1].message


def test_a_note_that_is_let_go_is_told() -> None:
    """A held note whose string is needed is let go; the log says so once, and all is written.

    E2 and F2 are on string 6 alone, so the held E2 cannot sound on.
    """
    held = line("E2:w~", "E2:w").parts[0]
    above = line("r:h F2:h", "F2:w").parts[0]
    both = tuple(
        replace(one, voices=(*one.voices, replace(other.voices[0], id="2")))
        for one, other in zip(held.measures, above.measures, strict=True)
    )
    score = replace(line("E2:w"), parts=(replace(held, measures=both),))
    made = make_variant(score, [], Wishes(reading="concert"))
    told = [str(change) for change in made.changes if change.step == "fingering"]
    assert told == ["measure 1, beat 3: the hand lets E2 go before the written end"]
    assert written(made.score, staves="tab")


def test_a_position_that_a_step_took_is_fingered_so() -> None:
    """After `shift-position` the hand stands where the step put the notes; later steps end that."""
    tune = line("D4 F4 G4 A4", "C5 A4 G4 F4")  # it sounds an octave lower
    asked = Wishes(settings=Settings(position=5))
    for steps in (["shift-position:position=5"], ["shift-position:position=5", "slow"]):
        assert _made(*steps, score=tune) == _made(*steps, score=tune, wishes=asked)
    moved = ["shift-position:position=5", "transpose:interval=-M2"]
    free = make_variant(tune, [parse_step(one) for one in moved], Wishes())
    alone = make_variant(tune, [parse_step(moved[1])], Wishes())
    assert free.score.parts == alone.score.parts
