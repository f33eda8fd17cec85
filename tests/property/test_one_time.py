"""The beat that is said is the beat that is printed, in every room of the house.

`tests.oracles.counted_time` works it out a second time, from the written file alone.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from tests.oracles.corpus_files import corpus_files, label
from tests.oracles.counted_time import Counted, counted_time
from tests.strategies import METRES, scores
from variants.errors import NeckwiseError
from variants.marks.counting import count_part
from variants.music import Metre, NoteValue, Pitch
from variants.musicxml import read, to_bytes
from variants.proof.scan import scan
from variants.score import (
    Attributes,
    Event,
    Measure,
    Note,
    Part,
    Score,
    Voice,
    events,
    measures,
    place_text,
)
from variants.sheets.exercises import exercise
from variants.sheets.handout import Version
from variants.sheets.review.timeline import timeline as review_timeline
from variants.steps.framework.log import scribe
from variants.survey.facts import describe_part

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.musicxml"))
# Every so many files of the corpus, the big ones left out: seconds, not minutes.
CORPUS = [path for path in corpus_files() if path.stat().st_size < 30_000][::60]
SIXTEENTH = NoteValue("16th")
MORE_METRES = (
    *METRES,
    Metre(("12",), (8,)),
    Metre(("7",), (8,)),
    Metre(("4+3",), (8,)),
    Metre(("3", "2"), (4, 8)),
    Metre(("5",), (16,)),
)
# What is counted at the sixths of a compound beat, and at the quarters of another one.
SYLLABLES = {
    True: {Fraction(n, 6): text for n, text in enumerate(("", "ta", "&", "ta", "a", "ta"))},
    False: {Fraction(n, 4): text for n, text in enumerate(("", "e", "&", "a"))},
}


def rooms_agree(score: Score) -> None:
    """Hold every room against the second statement of time."""
    data = to_bytes(score)
    page = scan(etree.fromstring(data))
    for number, part in enumerate(score.parts):
        missing, moments = counted_time(data, number)
        known = {(one.measure, one.onset): one for one in moments}
        _log_and_places(score, part, known)
        _proof(page.parts[number].bars, known, page.ticks)
        _counting(score, part, known)
        _describe(score, part, missing)
    if score.parts[0].measures:
        _review(score, counted_time(data)[1])


Known = dict[tuple[int, Fraction], Counted]


def _log_and_places(score: Score, part: Part, known: Known) -> None:
    log = scribe("a step", score, part)
    for index, event in events(part):
        if event.grace is None and not event.is_cue:
            name = known[index, Fraction(event.onset, score.ticks)].name
            assert log.at(index, event.onset, "said").beat == name
            assert place_text(score, part, index, event.onset).endswith(f"beat {name}")


def _proof(bars: list, known: Known, ticks: int) -> None:  # type: ignore[type-arg]
    for bar in bars:
        for head in bar.heads:
            found = known.get((bar.index, Fraction(head.onset, ticks)))
            if found is not None and not head.is_grace:
                assert bar.beat(head.onset) == found.name


def _counting(score: Score, part: Part, known: Known) -> None:
    counted = count_part(part, score.ticks)
    for index, line in enumerate(counted):
        beats: dict[int, set[Fraction]] = {}
        for tick, _ in line:
            one = known[index, Fraction(tick, score.ticks)]
            beats.setdefault(one.beat, set()).add(one.into)
        for tick, text in line:
            one = known[index, Fraction(tick, score.ticks)]
            said = text.split()[0].strip("[]()")
            if not one.into:
                assert said == str(one.beat)
            else:
                assert not said.isdigit()
                table = SYLLABLES[one.threes]
                if beats[one.beat] <= set(table) and not (
                    one.threes and beats[one.beat] <= {Fraction(0), Fraction(1, 2)}
                ):
                    assert said == table[one.into]
                    assert not one.threes or one.name.split()[-1] == said


def _describe(score: Score, part: Part, missing: Fraction) -> None:
    assert bool(describe_part(score, part).pickup_beats) == bool(missing)


def _review(score: Score, moments: list[Counted]) -> None:
    """Hold the clicks of the review page against the beats at which something begins."""
    views = measures(score.parts[0], score.ticks)
    if len({view.quarters_per_minute for view in views}) > 1:
        return
    page = review_timeline(score)
    clicks = {round(at, 3): strong for at, strong in page["clicks"]}
    rate = 60 / views[0].quarters_per_minute
    starts: dict[int, float] = {}
    for index, start, _ in page["order"]:
        starts.setdefault(index, start)
    for one in moments:
        if one.measure in starts and views[one.measure].metre.is_measured:
            at = round(starts[one.measure] + float(one.onset * rate), 3)
            near = next((c for c in (at, round(at - 0.001, 3), round(at + 0.001, 3))
                         if c in clicks), None)  # fmt: skip
            if not one.into:
                assert near is not None
                assert bool(clicks[near]) == (one.beat == 1)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_samples(path: Path) -> None:
    """The samples, and the rhythm exercise that is made of each."""
    score = read(path)
    rooms_agree(score)
    _, answer = exercise(Version(score=score), "clap")
    counted = answer.score.parts[0]
    known = {(one.measure, one.onset): one for one in counted_time(to_bytes(answer.score))[1]}
    said = [
        (known[index, Fraction(event.onset, answer.score.ticks)], event.lyrics[0].text)
        for index, event in events(counted)
        if event.lyrics
    ]
    assert said
    # What is held or silent from there on follows in brackets.
    first = [(one, text.strip("()[]").split()[0]) for one, text in said if not one.into]
    assert all(text.strip("()[]") == str(one.beat) for one, text in first)


@pytest.mark.parametrize("path", CORPUS, ids=label)
def test_stride_of_the_corpus(path: Path) -> None:
    """Files that other programs wrote; those that we refuse to read are not looked at."""
    try:
        score = read(path)
    except NeckwiseError:
        pytest.skip("refused")
    rooms_agree(score)


@settings(max_examples=60)
@given(scores(parts=1, measures=3, graces=False))
def test_generated(score: Score) -> None:
    """Generated scores: pick-ups, tuplets, several voices."""
    rooms_agree(score)


@st.composite
def cut_up(draw: st.DrawFn) -> Score:
    """Draw a part of sixteenths whose measures are cut and marked in every way."""
    metre = draw(st.sampled_from(MORE_METRES))
    full = int(metre.quarters * 4)
    made = []
    for index in range(draw(st.integers(1, 5))):
        length = draw(st.just(full) | st.integers(1, full + 2))
        voice = tuple(Event(at, 1, SIXTEENTH, (Note(Pitch.parse("E4")),)) for at in range(length))
        attributes = (Attributes(0, metre=metre),) if index == 0 else ()
        implicit = length < full and draw(st.booleans())
        made.append(Measure(str(index), length, (Voice("1", voice),), implicit, attributes))
    return Score(4, (Part("P1", "Guitar", tuple(made)),))


@settings(max_examples=150)
@given(cut_up())
def test_cut_measures(score: Score) -> None:
    """Split and short measures, marked or not, in simple, compound, uneven and added metres."""
    rooms_agree(score)


def half(number: str, *, implicit: bool) -> Measure:
    """Return two quarters of a measure in common time."""
    notes = tuple(
        Event(at, 2, NoteValue("eighth"), (Note(Pitch.parse("E4")),)) for at in (0, 2, 4, 6)
    )
    return Measure(number, 8, (Voice("1", notes),), implicit)


def test_second_half_of_a_split_measure() -> None:
    """What a repeat splits is counted on: 1 2 | 3 4 (common practice)."""
    full = (half("1", implicit=False), half("X1", implicit=True))
    views = measures(Part("P1", "", (half("0", implicit=False), *full)), 4)
    assert [view.beat_text(0) for view in views] == ["3", "1", "3"]


def test_short_first_measure_that_is_not_marked() -> None:
    """It is a pick-up for everybody, for `describe` as well."""
    whole = Measure("2", 16)
    part = Part("P1", "", (half("1", implicit=False), whole))
    assert measures(part, 4)[0].beat_text(4) == "4"
    assert describe_part(Score(4, (part,)), part).pickup_beats == 2


def test_last_measure_makes_up_for_the_pick_up() -> None:
    """It begins on 1, marked or not (common practice)."""
    part = Part("P1", "", (half("0", implicit=True), Measure("1", 16), half("2", implicit=True)))
    assert [view.beat_text(0) for view in measures(part, 4)] == ["3", "1", "1"]
