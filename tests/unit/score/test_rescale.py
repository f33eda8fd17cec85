"""Another number of ticks in a quarter."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from tests.strategies import line, scores
from variants.errors import UsageError
from variants.score import Direction, Harmony, Score
from variants.score.rescale import coarsest, rescaled
from variants.score.signs import Carried


def with_carried(score: Score) -> Score:
    """Return the score with times inside carried XML."""
    part = score.parts[0]
    figures = Carried(12, "figured-bass", "<figured-bass><duration>12</duration></figured-bass>")
    harmony = Harmony(12, None, xml="<function>V</function><offset>-3</offset>")
    words = Direction(0, "", sound="<sound tempo='90'><offset sound='yes'>6</offset></sound>")
    first = replace(part.measures[0], carried=(figures,), harmonies=(harmony,), directions=(words,))
    return replace(score, parts=(replace(part, measures=(first,)),))


def test_counts_everything_anew() -> None:
    """Notes, lengths and the times inside carried XML are all counted in the new ticks."""
    result = rescaled(with_carried(line("C4 D4:h E4")), 24)
    measure = result.parts[0].measures[0]
    assert (result.ticks, measure.length) == (24, 96)
    assert [event.onset for event in measure.voices[0].events] == [0, 24, 72]
    assert "<duration>24</duration>" in measure.carried[0].xml
    assert "<offset>-6</offset>" in measure.harmonies[0].xml
    assert "<offset sound='yes'>12</offset>" in measure.directions[0].sound


def test_refuses_ticks_that_do_not_hold_the_music() -> None:
    """An eighth is no whole number of quarters."""
    with pytest.raises(UsageError, match="no whole number"):
        rescaled(line("C4:e D4:e E4:h."), 1)


def test_coarsest_counts_no_finer_than_the_music() -> None:
    """Eighths need two ticks in a quarter, or four where a multiple of four is asked for."""
    music = line("C4:e D4:e E4:h.")
    assert coarsest(music).ticks == 2
    assert coarsest(music, multiple_of=4).ticks == 4
    assert coarsest(with_carried(line("C4 D4:h E4"))).ticks == 4


@settings(max_examples=30)
@given(scores())
def test_there_and_back(score: Score) -> None:
    """Finer ticks and the old ones again give the same score."""
    assert rescaled(rescaled(score, 5 * score.ticks), score.ticks) == score
