"""How signs are played, and practice tracks: times held against the score by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from tests.strategies import line
from variants.errors import UsageError
from variants.music import NoteValue, Pitch
from variants.musicxml import read
from variants.performance.performing import Performance, performed
from variants.performance.practice import Practice, practised
from variants.score import Direction, Event, Mark, Note, Score, Voice

SAMPLES = Path(__file__).parents[3] / "samples"


def _marked(*marks: Mark, on: str = "event") -> Score:
    """Return four quarters at 120, the second of which carries marks."""
    score = line("E3 G3 A3 B3")
    part = score.parts[0]
    measure = part.measures[0]
    events = list(measure.voices[0].events)
    if on == "event":
        events[1] = replace(events[1], marks=marks)
    else:
        note = replace(events[1].notes[0], marks=marks)
        events[1] = replace(events[1], notes=(note,))
    voices = (Voice("1", tuple(events)),)
    return replace(score, parts=(replace(part, measures=(replace(measure, voices=voices),)),))


def _directed(*xml: tuple[int, str]) -> Score:
    score = line("E3 G3 A3 B3")
    part = score.parts[0]
    directions = tuple(Direction(onset * score.ticks, text) for onset, text in xml)
    measure = replace(part.measures[0], directions=directions)
    return replace(score, parts=(replace(part, measures=(measure,)),))


def test_plain_quarters() -> None:
    """Quarters at 120 are half a second apart and as long, every beat has its click."""
    played = performed(line("E3 G3 A3 B3"))
    assert [(one.start, one.seconds) for one in played.strokes] == [
        (0.0, 0.5), (0.5, 0.5), (1.0, 0.5), (1.5, 0.5)
    ]  # fmt: skip
    assert [(one.start, one.is_first) for one in played.clicks] == [
        (0.0, True), (0.5, False), (1.0, False), (1.5, False)
    ]  # fmt: skip
    assert played.bars == (0.0, 2.0)


def test_staccato_is_half() -> None:
    """A staccato note lasts half as long (common practice), the others as written."""
    dot = Mark("articulations", "staccato", "", "", "<staccato/>")
    lengths = [one.seconds for one in performed(_marked(dot)).strokes]
    assert lengths == [0.5, 0.25, 0.5, 0.5]


def test_an_accent_is_stronger() -> None:
    """An accented note is stronger than its neighbours."""
    accent = Mark("articulations", "accent", "", "", "<accent/>")
    first, second, *_ = performed(_marked(accent)).strokes
    assert second.strength > first.strength


def test_a_bend_reaches_its_pitch() -> None:
    """A bend of two semitones is there by the middle of the note."""
    bend = Mark("technical", "bend", "", "", "<bend><bend-alter>2</bend-alter></bend>")
    stroke = performed(_marked(bend, on="note")).strokes[1]
    assert stroke.bend[-1] == (0.25, 2.0)
    assert stroke.bend[0] == (0.0, 0.0)


def test_dynamics_and_hairpins() -> None:
    """Soft is softer than loud, and a crescendo grows in between."""
    soft = "<direction-type><dynamics><p/></dynamics></direction-type>"
    loud = "<direction-type><dynamics><f/></dynamics></direction-type>"
    grow = '<direction-type><wedge type="crescendo"/></direction-type>'
    stop = '<direction-type><wedge type="stop"/></direction-type>'
    strengths = [
        one.strength
        for one in performed(_directed((0, soft), (0, grow), (3, stop), (3, loud))).strokes
    ]
    assert strengths == sorted(strengths)
    assert strengths[0] < strengths[2] < strengths[3]


def test_a_strummed_chord_is_rolled_from_the_bass() -> None:
    """A down stroke meets the low strings first, an up stroke the high ones."""
    chord = tuple(Note(Pitch.parse(name)) for name in ("E2", "B2", "E3"))
    starts = {}
    for name in ("down-bow", "up-bow"):
        mark = Mark("technical", name, "", "", f"<{name}/>")
        score = line("E3:w")
        part = score.parts[0]
        event = Event(0, 4 * score.ticks, NoteValue("whole"), chord, marks=(mark,))
        measure = replace(part.measures[0], voices=(Voice("1", (event,)),))
        found = performed(replace(score, parts=(replace(part, measures=(measure,)),))).strokes
        starts[name] = [one.semitones for one in sorted(found, key=lambda one: one.start)]
        assert len({one.start for one in found}) == 3
    assert starts == {"down-bow": [40, 47, 52], "up-bow": [52, 47, 40]}


def test_what_is_not_played_is_told() -> None:
    """A trill is sounded plain, and one line says so."""
    trill = Mark("ornaments", "trill-mark", "", "", "<trill-mark/>")
    assert performed(_marked(trill)).told == ("trills are not played",)


def test_repeats_are_played_out() -> None:
    """The repeat of the sample is heard: its eight measures and their pick-up, twice."""
    score = read(SAMPLES / "auld-lang-syne.musicxml")
    once, twice = (len(performed(score, repeats=one).strokes) for one in (False, True))
    assert twice > once


def test_play_along() -> None:
    """A part can be left out or play alone, and one that is not there is one line."""
    duet = read(SAMPLES / "two-boats-duet.musicxml")
    every = len(performed(duet).strokes)
    first, rest = performed(duet, only=["P1"]), performed(duet, without=["P1"])
    assert len(first.strokes) + len(rest.strokes) == every
    assert {one.pan for one in performed(duet).strokes} == {-0.5, 0.5}
    with pytest.raises(UsageError, match=r"no part P9.*the parts are P1, P2"):
        performed(duet, only=["P9"])


def _two_measures() -> Performance:
    return performed(line("E3 G3 A3 B3", "C4 B3 A3 G3"))


def test_speed() -> None:
    """At 50 percent everything lasts twice as long."""
    slow = practised(_two_measures(), Practice(speed=50))
    assert slow.bars == (0.0, 4.0, 8.0)
    assert slow.strokes[1].start == 1.0


def test_a_loop_that_grows_faster() -> None:
    """Measure 2 three times, each time 25 percent of the tempo faster: 2 s at 50, 75, 100."""
    track = practised(_two_measures(), Practice(loop="2-2x3", speed=50, faster=25))
    assert track.numbers == ("2", "2", "2")
    assert [Fraction(one).limit_denominator(100) for one in track.bars] == [
        0, 4, 4 + Fraction(8, 3), 6 + Fraction(8, 3)
    ]  # fmt: skip
    assert [one.semitones for one in track.strokes] == [60, 59, 57, 55] * 3


def test_count_in_and_click() -> None:
    """Four clicks before the music; without a click none after them."""
    counted = practised(_two_measures(), Practice(has_count_in=True))
    assert [one.start for one in counted.clicks] == [0.0, 0.5, 1.0, 1.5]
    assert counted.strokes[0].start == 2.0
    clicked = practised(_two_measures(), Practice(has_count_in=True, has_click=True))
    assert len(clicked.clicks) == 12


def test_a_pick_up_is_counted_up_to() -> None:
    """Before a pick-up of one beat in four, three beats are counted."""
    score = read(SAMPLES / "auld-lang-syne.musicxml")
    counted = practised(performed(score), Practice(has_count_in=True))
    assert len(counted.clicks) == 3


@pytest.mark.parametrize(
    ("practice", "cause", "way_out"),
    [
        (Practice(loop="2"), "no passage and number of times", r"as in 5-8x4"),
        (Practice(loop="7-9"), "not played one after the other", "they go from 1 to 2"),
        (Practice(speed=5), "too far", "10 to 400"),
        (Practice(loop="1-2x40", speed=10), "more than twenty minutes", "less often"),
    ],
)
def test_wrong_wishes(practice: Practice, cause: str, way_out: str) -> None:
    """What cannot be is one line with cause and way out."""
    with pytest.raises(UsageError, match=f"{cause}.*{way_out}"):
        practised(_two_measures(), practice)
