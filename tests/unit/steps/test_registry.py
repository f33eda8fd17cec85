"""The text of steps: what is read, what is written, and what is said when it is wrong."""

from __future__ import annotations

import pytest

from variants.errors import UsageError
from variants.music import Interval, Key
from variants.steps import Step, describe_step, list_steps, parse_step, step_info, step_name
from variants.steps.choose_part import ChoosePart
from variants.steps.invert_dyads import InvertDyads
from variants.steps.reduce_chords import ReduceChords
from variants.steps.transpose import Transpose

READ = [
    ("transpose:interval=m3", Transpose(interval=Interval.parse("m3"))),
    ("transpose:interval=-P4", Transpose(interval=Interval.parse("-P4"))),
    (" transpose : semitones = 5 ", Transpose(semitones=5)),
    ("transpose:key=E minor,octave=keep", Transpose(key=Key.parse("E minor"), octave="keep")),
    ("invert-dyads", InvertDyads()),
    ("invert-dyads:root=top", InvertDyads(root="top")),
    ("invert-dyads:move=lower", InvertDyads(move="lower")),
    ("invert-dyads:move=lower-up", InvertDyads(move="lower")),
    ("invert-dyads:move=upper-down,intervals=all", InvertDyads(move="upper", intervals=())),
    (
        "invert-dyads:intervals=M3+m6",
        InvertDyads(intervals=(Interval.parse("M3"), Interval.parse("m6"))),
    ),
    ("reduce-chords:to=Dyad", ReduceChords(to="dyad")),
    ("choose-part:part=P1,voice=1,staff=2", ChoosePart(part="P1", voice="1", staff=2)),
    ("choose-part:part=Guitar, solo,staff=1", ChoosePart(part="Guitar, solo", staff=1)),
]


@pytest.mark.parametrize(("text", "step"), READ)
def test_read_and_write(text: str, step: Step) -> None:
    """A text is read as its step, and the step is written as a text that means the same."""
    assert parse_step(text) == step
    assert parse_step(describe_step(step)) == step


WRONG = [
    ("invert", "there is no step 'invert'; .*the steps are add-bass, all-keys, all-strings, capo"),
    ("transposse:interval=m3", "did you mean transpose"),
    ("", "there is no step ''"),
    ("transpose:intervall=m3", "transpose has no parameter 'intervall'; did you mean interval"),
    ("transpose:interval=3", "transpose: interval: '3' is no interval; write quality and number"),
    ("transpose:semitones=five", "semitones: 'five' is no whole number; use a whole number"),
    ("transpose:semitones=900", "900 is out of range"),
    ("transpose:key=H minor", "transpose: key: 'H minor' is no key"),
    ("transpose:m3", "'m3' is no parameter; write transpose:key=value"),
    ("transpose:interval=m3,interval=m2", "interval is given twice"),
    ("transpose:interval=m3,semitones=2", "told more than once how far"),
    ("transpose", "transpose is not told how far; give interval, semitones or key"),
    ("transpose:interval=m3,octave=no", "octave: 'no' is not allowed; use fit or keep"),
    ("invert-dyads:root=left", "root: 'left' is not allowed; use top or bottom"),
    ("invert-dyads:intervals=P8", "an octave or unison has no inversion; leave it out"),
    ("invert-dyads:intervals=P5+x", "'x' is no interval"),
    ("reduce-chords:to=one", "to: 'one' is not allowed; use root, top, bottom or dyad"),
    ("choose-part", "choose-part is not told what to keep; give part, voice or staff"),
    ("choose-part:staff=0", "0 is out of range; use a whole number from 1 to 99"),
]


@pytest.mark.parametrize(("text", "message"), WRONG)
def test_what_is_wrong_is_said_in_one_line(text: str, message: str) -> None:
    """Unknown steps, parameters and values are named, with a suggestion or what is allowed."""
    with pytest.raises(UsageError, match=message) as caught:
        parse_step(text)
    assert "\n" not in str(caught.value)
    assert caught.value.way_out


@pytest.mark.parametrize(
    "make",
    [
        lambda: Transpose(interval=Interval.parse("m3"), octave="up"),
        lambda: Transpose(interval=Interval.parse("m3"), direction="left"),
        lambda: InvertDyads(root="middle"),
        lambda: InvertDyads(move="both"),
        lambda: ReduceChords(to="triad"),
        lambda: ReduceChords(to="dyad", other="ninth"),
    ],
)
def test_python_values_are_checked_too(make: object) -> None:
    """A wrong value is refused where Python gives it, before any score is seen."""
    with pytest.raises(UsageError, match="cannot be"):
        make()  # type: ignore[operator]


def test_only_what_differs_is_written() -> None:
    """Defaults are not written out."""
    assert describe_step(InvertDyads()) == "invert-dyads"
    assert describe_step(InvertDyads(root="top")) == "invert-dyads:root=top"
    assert describe_step(InvertDyads(intervals=())) == "invert-dyads:intervals=all"
    assert describe_step(ReduceChords(to="dyad", other="third")) == (
        "reduce-chords:to=dyad,other=third"
    )


def test_list_of_steps() -> None:
    """The list is in order and knows each step's parameters."""
    names = [info.name for info in list_steps()]
    assert names == sorted(names)
    assert list(step_info("choose-part").parameters) == ["part", "voice", "staff"]
    assert step_info("transpose").summary == (
        "Move every note, key signature and chord symbol by one interval"
    )
    assert step_name(InvertDyads()) == "invert-dyads"
