"""Range and texture."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import STANDARD, line, scores
from variants.guitar import instrument_for, parse_tuning
from variants.music import Interval
from variants.score import Score, onsets
from variants.survey import pitch_facts


def test_dyads_and_chords() -> None:
    """Dyads are counted by interval, chords by their intervals above the lowest note."""
    facts = pitch_facts(line("A2+E3 A2+E3 C3+E3 E2+B2+E3").parts[0])
    assert facts.dyads == ((Interval.parse("P5"), 2), (Interval.parse("M3"), 1))
    assert facts.chords == (((Interval.parse("P5"), Interval.parse("P8")), 1),)
    assert (facts.onsets, facts.struck, facts.singles, facts.most_at_once) == (4, 9, 0, 3)
    assert (str(facts.lowest), str(facts.highest)) == ("E2", "E3")


def test_tied_notes_are_not_struck() -> None:
    """A note held over is no new onset."""
    facts = pitch_facts(line("A2:h~ A2:h").parts[0])
    assert (facts.onsets, facts.struck) == (1, 1)


def test_written_range() -> None:
    """A guitar is written an octave up; a ukulele as it sounds (common practice)."""
    part = line("E4", instrument=STANDARD).parts[0]
    assert pitch_facts(part).written == Interval(7, 12)
    ukulele = instrument_for(parse_tuning("ukulele"))
    assert pitch_facts(line("E4", instrument=ukulele).parts[0]).written == Interval(0, 0)


@settings(max_examples=40)
@given(scores(), st.data())
def test_every_onset_is_counted(score: Score, data: st.DataObject) -> None:
    """Singles, dyads and chords add up to the onsets that the timeline has."""
    part = data.draw(st.sampled_from(score.parts))
    facts = pitch_facts(part)
    assert facts.onsets == len(onsets(part))
    counted = facts.singles + sum(n for _, n in facts.dyads) + sum(n for _, n in facts.chords)
    assert counted == facts.onsets
    assert facts.struck <= sum(len(one.semitones) for one in onsets(part))
