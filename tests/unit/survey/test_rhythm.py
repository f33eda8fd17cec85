"""Note values, off-beats, ties, tuplets."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.cli.calling import SAMPLES
from tests.strategies import line, scores
from variants.musicxml import read
from variants.score import Score, onsets
from variants.survey import rhythm_facts


def test_off_beats() -> None:
    """Off the beat is what begins between beats; held over if it sounds past the next one."""
    score = line("E3:e E3:e E3:e E3:q E3:e E3:q")
    facts = rhythm_facts(score, score.parts[0])
    # Beats 1, 1.5, 2, 2.5 (a quarter, so held over beat 3), 3.5, 4.
    assert (facts.moments, facts.off_beats, facts.held_over) == (6, 3, 1)


def test_tie_over_the_beat_is_held_over() -> None:
    """An eighth tied to the next beat is a syncopation, and one over the barline too."""
    score = line("r:h r:e E3:e E3:e E3:e~", "E3:w")
    facts = rhythm_facts(score, score.parts[0])
    assert (facts.off_beats, facts.held_over) == (2, 1)
    assert (facts.ties, facts.ties_over_barline) == (1, 1)


def test_values_and_rests() -> None:
    """Values are counted by what is printed; rests are counted apart."""
    score = line("E3:q. E3:e r:h")
    facts = rhythm_facts(score, score.parts[0])
    assert dict(facts.values) == {"dotted quarter": 1, "eighth": 1}
    assert facts.rests == 1


def test_pickup_is_counted_from_its_end() -> None:
    """The two 16ths before the jig's first beat are both off the beat of the measure before."""
    score = read(SAMPLES / "irish-washerwoman.musicxml")
    facts = rhythm_facts(score, score.parts[0])
    beats = sum(
        1
        for one in onsets(score.parts[0])
        if one.measure and one.tick % (score.ticks * 3 // 2) == 0
    )
    assert facts.moments - facts.off_beats == beats


@settings(max_examples=40)
@given(scores(), st.data())
def test_bounds(score: Score, data: st.DataObject) -> None:
    """Held-over moments are off-beats, off-beats are moments, ties over barlines are ties."""
    part = data.draw(st.sampled_from(score.parts))
    facts = rhythm_facts(score, part)
    assert 0 <= facts.held_over <= facts.off_beats <= facts.moments
    assert 0 <= facts.ties_over_barline <= facts.ties
    played = {(one.measure, one.tick) for one in onsets(part) if not one.grace}
    assert facts.moments >= len(played)
