"""The step `excerpt`: from beat to beat, with a pick-up, nothing hanging over."""

from __future__ import annotations

from pathlib import Path

import pytest

from variants.errors import Refusal, UsageError
from variants.musicxml import read
from variants.score import Score, measures, timeline
from variants.steps import parse_step

SAMPLES = Path(__file__).parents[3] / "samples"


def _names(score: Score) -> list[str]:
    return [str(take.pitch) for take in timeline(score.parts[0]).takes]


def test_a_phrase_with_its_pick_up() -> None:
    """The second line of the song begins on beat 4 of measure 2 and ends on beat 1 of measure 4."""
    source = read(SAMPLES / "auld-lang-syne.musicxml")
    done = parse_step("excerpt:begin=2/4,end=4/1")(source)
    first, *_, last = done.parts[0].measures
    assert (first.number, first.is_implicit, first.length) == ("2", True, source.ticks)
    whole = timeline(source.parts[0]).takes
    wanted = [str(t.pitch) for t in whole if (2, 3 * source.ticks) <= (t.measure, t.tick) <= (4, 0)]
    assert _names(done) == wanted
    # The pick-up counts as beat 4, and what followed the last note is silence.
    assert measures(done.parts[0], done.ticks)[0].beat_text(0) == "4"
    assert sum(event.duration for event in last.voices[0].events) == last.length


def test_all_of_it_is_left_alone() -> None:
    """From start to end nothing changes but the log."""
    source = read(SAMPLES / "amazing-grace.musicxml")
    done = parse_step("excerpt")(source)
    assert _names(done) == _names(source)
    assert [m.length for m in done.parts[0].measures] == [
        m.length for m in source.parts[0].measures
    ]


def test_held_notes_belong_to_where_they_begin() -> None:
    """What is held into the passage is not in it; what begins in it is, in every voice."""
    source = read(SAMPLES / "low-tide-study.musicxml")
    done = parse_step("excerpt:begin=2/2,end=3/1")(source)
    second = 1
    wanted = [
        str(take.pitch)
        for take in timeline(source.parts[0]).takes
        if (second, source.ticks) <= (take.measure, take.tick) <= (second + 1, 0)
    ]
    assert _names(done) == wanted


def test_beats_between_the_beats() -> None:
    """Places within a beat are written as decimals or as fractions."""
    source = read(SAMPLES / "irish-washerwoman.musicxml")
    one = parse_step("excerpt:begin=2/2+2/3,end=4/2+1/3")(source)
    assert measures(one.parts[0], one.ticks)[0].measure.length == source.ticks // 2
    assert len(_names(one)) == 1 + 6 + 5


@pytest.mark.parametrize(
    ("text", "cause", "way_out"),
    [
        ("excerpt:begin=99/1", "there is no measure 99", "they go from 0 to 8"),
        ("excerpt:begin=2/7", "measure 2 has no beat 7", "from 1 to 4"),
        ("excerpt:begin=4/1,end=2/1", "2/1 comes before 4/1", "the earlier place first"),
    ],
)
def test_places_that_are_not_there(text: str, cause: str, way_out: str) -> None:
    """A place that the piece does not have is one line with what it has."""
    with pytest.raises(Refusal, match=f"{cause}.*{way_out}"):
        parse_step(text)(read(SAMPLES / "auld-lang-syne.musicxml"))


@pytest.mark.parametrize("text", ["soon", "3", "3/", "/4", "3/x", "3/1+1/0"])
def test_no_place_at_all(text: str) -> None:
    """What is no place says how one is written."""
    with pytest.raises(UsageError, match=r"no place in the music.*as in 6/4, 6/2\.5 or 6/2\+1/3"):
        parse_step(f"excerpt:begin={text}")
