"""Practice tempi on small scores."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from tests.strategies import line
from tests.unit.steps.test_scale_values import TEMPO, with_first
from variants.errors import UsageError
from variants.music import Metre
from variants.pipeline import run
from variants.score import Attributes, Direction, Score
from variants.steps import parse_step
from variants.steps.slow import Slow


def marks(score: Score) -> list[Direction]:
    """Return the tempo marks of the first measure."""
    return [one for one in score.parts[0].measures[0].directions if one.quarters_per_minute]


def test_a_mark_is_slowed() -> None:
    """Print, sound and value agree, and the log says both numbers."""
    done = run(with_first(line("E4:w"), directions=(TEMPO,)), [Slow()])
    (mark,) = marks(done.score)
    assert "<per-minute>48</per-minute>" in mark.xml
    assert mark.sound == '<sound tempo="48"/>'
    assert mark.quarters_per_minute == 48
    assert [str(one) for one in done.changes] == [
        "measure 1, beat 1: practice tempo: quarter = 48 instead of 80"
    ]


def test_whole_beats() -> None:
    """A metronome has whole numbers: dotted quarter = 61 at 70 percent is 43, not 42.7."""
    xml = TEMPO.xml.replace("</beat-unit>", "</beat-unit><beat-unit-dot/>").replace("80", "61")
    mark = replace(TEMPO, xml=xml, sound="", quarters_per_minute=Fraction(183, 2))
    done = run(with_first(line("E4:w"), directions=(mark,)), [Slow(percent=70)])
    (slower,) = marks(done.score)
    assert "<per-minute>43</per-minute>" in slower.xml
    assert slower.quarters_per_minute == Fraction(129, 2)


def test_a_mark_is_added() -> None:
    """Without a mark 120 quarters a minute are supposed, counted in the beats of the metre."""
    done = run(line("E4:w"), [Slow()])
    (mark,) = marks(done.score)
    assert (mark.quarters_per_minute, mark.sound) == (Fraction(72), '<sound tempo="72"/>')
    compound = with_first(line("E4:h."), attributes=(Attributes(0, metre=Metre(("6",), (8,))),))
    (mark,) = marks(run(compound, [Slow()]).score)
    assert "<beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>48</per-minute>" in mark.xml


def test_words_stay() -> None:
    """A tempo word without a number is left alone, and a number is added beside it."""
    word = Direction(0, "<direction-type><words>Allegro</words></direction-type>", words="Allegro")
    done = run(with_first(line("E4:w"), directions=(word,)), [Slow()])
    assert word in done.score.parts[0].measures[0].directions
    assert len(marks(done.score)) == 1


def test_ranges_are_slowed() -> None:
    """A mark of two numbers has both slowed."""
    xml = TEMPO.xml.replace("80", "80-100")
    mark = replace(TEMPO, xml=xml, sound="", quarters_per_minute=None)
    done = run(with_first(line("E4:w"), directions=(mark,)), [Slow(percent=50)])
    assert "<per-minute>40-50</per-minute>" in done.score.parts[0].measures[0].directions[1].xml


def test_wrong_percent() -> None:
    """Faster than written is no practice tempo."""
    with pytest.raises(UsageError, match="from 10 to 100"):
        parse_step("slow:percent=120")
