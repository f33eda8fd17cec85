"""Pins are found again, hold whatever the model would choose, and are told where they are lost."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import Golden
from variants.errors import Refusal, UsageError
from variants.fingering import Settings as HandSettings
from variants.music import NoteValue, Pitch
from variants.pins import Pin, found_again, pins_toml, read_pins
from variants.pins.context import PinContext
from variants.score import STANDARD_GUITAR, Event, Measure, Note, Part, Place, Score, Voice
from variants.songset.schema import pins_schema_text
from variants.variant import Variant, Wishes, make_variant

ROOT = Path(__file__).parents[3]


def _score(*measures: str) -> Score:
    """Return measures of quarters; notes of a chord are joined by +."""
    made = []
    for number, text in enumerate(measures, 1):
        events = tuple(
            Event(
                place,
                1,
                NoteValue("quarter"),
                tuple(Note(Pitch.parse(name)) for name in chord.split("+")),
            )
            for place, chord in enumerate(text.split())
        )
        made.append(Measure(str(number), len(events), (Voice("1", events),)))
    return Score(1, (Part("P1", "Guitar", tuple(made), instrument=STANDARD_GUITAR),))


def _said(score: Score, measure: int, moment: int, **pinned: object) -> Pin:
    """Return a pin of the first note of a moment with its whole context, as edits give it."""
    context = PinContext(score, score.parts[0])
    place = context.of_measure[measure][moment]
    note = str(context.moments[place][0].pitch)
    return Pin.model_validate({"note": note, **context.said(place), **pinned})


def _heads(pins: list[Pin], score: Score, **names: str) -> list[tuple[int, int]]:
    found = found_again(pins, score, score.parts[0], **names)
    return sorted((measure, event) for measure, _, event, _ in found.heads)


def _made(score: Score, *pins: Pin) -> Variant:
    return make_variant(score, [], Wishes(reading="concert", pins=pins))


def _at(made: Variant, measure: int, event: int, head: int = 0) -> Note:
    return made.score.parts[0].measures[measure].voices[0].events[event].notes[head]


_TUNE = ("E4 G4 A4 G4", "C4 D4 E4 E4", "D4 F4 A4 F4", "E4 G4 A4 G4")

_MEASURE = st.lists(st.sampled_from(["C4", "E4", "G4", "A4", "C4+G4"]), min_size=4, max_size=4).map(
    " ".join
)


@settings(max_examples=40)
@given(
    st.lists(_MEASURE, min_size=1, max_size=5, unique=True),
    st.lists(_MEASURE, max_size=3),
    st.data(),
)
def test_measures_put_in_before_it(tune: list[str], new: list[str], data: st.DataObject) -> None:
    """Whatever is put in before the tune, each pin is at its note, where no measure is twice."""
    new = [text for text in new if text not in tune]
    before, after = _score(*tune), _score(*new, *tune)
    measure = data.draw(st.integers(0, len(tune) - 1))
    moment = data.draw(st.integers(0, 3))
    pin = _said(before, measure, moment, finger=1)
    assert _heads([pin], after) == [(measure + len(new), moment)]


def test_of_equal_measures_the_one_that_moved_like_the_others() -> None:
    """The first and the last are equal: one pin that is sure says how far all have moved."""
    before, after = _score(*_TUNE), _score("G4 G4 G4 G4", *_TUNE)
    sure = _said(before, 1, 0, finger=1)
    for measure in (0, 3):
        pin = _said(before, measure, 1, finger=4)
        assert _heads([sure, pin], after) == sorted([(2, 0), (measure + 1, 1)])


def test_a_measure_that_has_changed_elsewhere() -> None:
    """The same notes around it are enough; without them the pin is lost, with its place."""
    before = _score(*_TUNE)
    pin = _said(before, 2, 1, string=2, fret=6)
    assert _heads([pin], _score(_TUNE[0], _TUNE[1], "D4 F4 A4 B4")) == [(2, 1)]
    found = found_again([pin], _score("C4 C4 C4 C4"), before.parts[0], version="x")
    assert found.lost == ()
    gone = _score("C4 C4 C4 C4")
    lost = found_again([pin], gone, gone.parts[0]).lost
    assert [(one.measure, one.beat) for one in lost] == [("3", "2")]
    assert "F4: string 2, fret 6 is lost" in lost[0].message


def test_other_versions_are_left_out() -> None:
    """A pin of one version holds in no other, and goes before what is said of all."""
    score = _score(*_TUNE)
    one = _said(score, 0, 0, version="slow", finger=4)
    every = _said(score, 0, 0, string=2, fret=5, finger=2)
    assert _heads([one], score, version="fast") == []
    found = found_again([one, every], score, score.parts[0], version="slow")
    (pin,) = found.heads.values()
    assert (pin.string, pin.fret, pin.finger) == (2, 5, 4)


def test_a_figure_elsewhere() -> None:
    """Alike: the same notes with the same neighbours; a hand that cannot is not forced."""
    score = _score("C4 E4 G4 C4", "A4 E4 G4 A4", "C4 E4 G4 C4", "B4 E4 G4 A4")
    pin = _said(score, 0, 2, string=3, fret=12, alike=True)
    assert _heads([pin], score) == [(0, 2), (2, 2)]
    firm = found_again([pin], score, score.parts[0]).heads
    assert [pin.is_firm for _, pin in sorted(firm.items())] == [True, False]


def test_carried_but_no_open_string_is_taken() -> None:
    """A stopped place goes to equal figures, but not to a note that is open there; that is said."""
    score = _score("C4 E4 G4 C4", "A4 C4 A4 A4", "C4 E4 G4 C4")
    stopped = _said(score, 0, 2, string=2, fret=8, alike=True)
    made = _made(score, stopped)
    assert [_at(made, measure, 2).place for measure in (0, 2)] == [Place(2, 8)] * 2
    low = _score("C4 E4 D4 C4", "D4 C4 D4 E4", "C4 E4 D4 C4")
    was_open = _said(low, 0, 1, string=2, fret=5, alike=True)
    wishes = Wishes(reading="concert", settings=HandSettings(open_strings="prefer"))
    assert _at(make_variant(low, [], wishes), 2, 1).place == Place(1, 0)
    made = make_variant(low, [], replace(wishes, pins=(was_open,)))
    assert [_at(made, measure, 1).place for measure in (0, 2)] == [Place(2, 5), Place(1, 0)]
    (line,) = [one for one in made.changes if one.step == "fingering"]
    assert (line.measure, line.beat) == ("3", "2")
    assert "E4 stays open" in line.message


def test_hard_limits() -> None:
    """Place, finger, position, barre and not-here hold, each unlike what is chosen without."""
    score = _score("E4 G4 A4 G4", "C4+E4+A4 E4 E4 E4")
    free = _made(score)
    high = _made(score, Pin(measure="1", beat="2", note="G4", string=4, fret=17, finger=3))
    assert (_at(high, 0, 1).place, _at(high, 0, 1).finger) == (Place(4, 17), "3")
    seventh = _made(score, Pin(measure="1", position=7))
    assert {hand.hand.position for hand in seventh.hands[0] if hand.measure == 0} == {7}
    barred = _made(score, Pin(measure="2", beat="1", barre=5))
    hand = next(hand.hand for hand in barred.hands[0] if hand.measure == 1)
    assert hand.barre is not None
    assert hand.barre.fret == 5
    was = _at(free, 0, 0).place
    assert was is not None
    never = _made(score, Pin(measure="1", beat="1", not_here=(f"{was.string}/{was.fret}",)))
    assert _at(never, 0, 0).place != was


def test_pins_that_no_hand_can_join_are_one_line() -> None:
    """Where, what, and the way out; and so is a pin that sounds another note."""
    score = _score("F3+C4+F4 E4 E4 E4")
    both = [Pin(measure="1", beat="1", note=name, string=4) for name in ("F3", "C4")]
    with pytest.raises(Refusal, match=r"measure 1, beat 1: no hand can hold the pin.*take one"):
        _made(score, *both)
    with pytest.raises(
        Refusal, match=r"measure 1, beat 2: no hand can hold the pin to string 1, fret 5 here;"
    ):
        _made(score, Pin(measure="1", beat="2", note="E4", string=1, fret=5))


def test_new_knows_no_pins_and_fill_holds_them() -> None:
    """``fill`` keeps what is pinned and nothing else; ``new`` keeps nothing."""
    score = _score("E4 G4 A4 G4")
    pin = Pin(measure="1", beat="2", note="G4", string=4, fret=17)
    places = [
        _at(
            make_variant(score, [], Wishes(reading="concert", pins=(pin,), fingering=wish)), 0, 1
        ).place
        for wish in ("keep", "fill", "new")
    ]
    assert places[:2] == [Place(4, 17)] * 2
    assert places[2] != Place(4, 17)


def test_written_and_read_again(tmp_path: Path) -> None:
    """The file holds what was pinned, in the order of the music, and the same bytes again."""
    score = _score(*_TUNE)
    pins = [
        _said(score, 3, 1, finger="T"),
        _said(score, 0, 2, string=2, fret=10, not_here=("1/5",), alike=True),
        Pin(measure="10", until="12", position=5),
        Pin(measure="9", barre=0),
    ]
    path = tmp_path / "tune.pins.toml"
    path.write_text(pins_toml(pins))
    again = read_pins(path)
    assert [pin.measure for pin in again] == ["1", "4", "9", "10"]
    assert set(again) == set(pins)
    assert pins_toml(again) == pins_toml(reversed(pins))


def test_nothing_pinned() -> None:
    """A pin that says nothing, and a name that is no note, are one line each."""
    with pytest.raises(ValueError, match="pins nothing"):
        Pin(measure="1")
    with pytest.raises(ValueError, match="is no note"):
        Pin(measure="1", note="H4", finger=1)
    with pytest.raises(UsageError):
        read_pins(Path(__file__))


def test_schema_is_fresh(golden: Golden) -> None:
    """What is published is what the model says."""
    golden(ROOT / "docs" / "pins.schema.json", pins_schema_text())
