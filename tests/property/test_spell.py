"""Laws of spelling: durations add up, values say what they last, beams are whole."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import METRES, scores
from variants.music import Metre, NoteValue
from variants.score import Score, measures
from variants.score.beams import beams, flags
from variants.score.spell import spell

MORE_METRES = (*METRES, Metre(("12",), (8,)), Metre(("7",), (8,)), Metre(("3",), (2,)))


@st.composite
def moments(draw: st.DrawFn) -> tuple[Metre, int, int, int]:
    """Draw a metre, ticks in a quarter, and onset and duration inside a measure."""
    metre = draw(st.sampled_from(MORE_METRES))
    ticks = draw(st.sampled_from((1, 4, 8, 12, 48, 120)))
    length = int(metre.quarters * ticks)
    onset = draw(st.integers(0, max(0, length - 1)))
    return metre, ticks, onset, draw(st.integers(1, max(1, length - onset)))


def total(value: NoteValue, ticks: int) -> Fraction:
    """Return the ticks that a value lasts by its name."""
    assert value.quarters is not None
    return value.quarters * ticks


@settings(max_examples=300)
@given(moments(), st.booleans())
def test_pieces_add_up(moment: tuple[Metre, int, int, int], rest: bool) -> None:
    """The pieces follow one another, last as long as their values say, and fill the duration."""
    metre, ticks, onset, duration = moment
    pieces = spell(onset, duration, metre, ticks=ticks, rest=rest)
    at = onset
    for start, length, value in pieces:
        assert start == at
        assert total(value, ticks) == length
        assert value.dots <= 1
        at += length
    assert at == onset + duration


@settings(max_examples=150)
@given(moments())
def test_pieces_are_written_as_they_are(moment: tuple[Metre, int, int, int]) -> None:
    """Each piece of a note that no tuplet cuts would be written as it stands if it stood alone."""
    metre, ticks, onset, duration = moment
    for start, length, value in spell(onset, duration, metre, ticks=ticks):
        if not value.is_tuplet:
            assert spell(start, length, metre, ticks=ticks) == ((start, length, value),)


@settings(max_examples=60)
@given(scores(graces=False))
def test_beams_are_whole(score: Score) -> None:
    """Every beam that begins ends, a value has as many beams as flags or none at all."""
    for part in score.parts:
        for view in measures(part, score.ticks):
            for voice in view.measure.voices:
                values = beams(voice.events, view.metre, ticks=score.ticks, shift=view.shift)
                open_beams: set[int] = set()
                for event, value in zip(voice.events, values, strict=True):
                    assert len(value) in {0, flags(event.value)}
                    assert event.notes or not value
                    for level, one in enumerate(value):
                        assert (one in {"continue", "end"}) == (level in open_beams)
                        if one == "begin":
                            open_beams.add(level)
                        elif one == "end":
                            open_beams.remove(level)
                assert not open_beams
