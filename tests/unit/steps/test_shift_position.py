"""The same pitches elsewhere on the neck: places, wishes, refusals."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line, places
from variants.contract import check
from variants.errors import Refusal, Unplayable, UsageError
from variants.music import NoteValue, Pitch
from variants.score import Event, Mark, Note, Score, Voice
from variants.steps import parse_step
from variants.steps.shift_position import ShiftPosition


def shifted(score: Score, text: str = "") -> str:
    """Return the places as ``string:fret`` words, chords joined, after checking the contract."""
    step = parse_step(f"shift-position:{text}" if text else "shift-position")
    result = step(score)
    check(step.keeps, score, result, step="shift-position")
    assert step(result) == result
    return places(result)


def test_open_fourth_and_third_string_at_the_fifth_fret() -> None:
    """The two open strings sound at fret 5 of the strings below them. Common practice."""
    assert shifted(line("D3+G3:w"), "position=5") == "5:5+4:5"
    assert shifted(line("D3+G3:w"), "position=1") == "4:0+3:0"


def test_c_major_scale_in_second_position() -> None:
    """The scale as published: 5:3 5:5 4:2 4:3 4:5 3:2 3:4 3:5 (trade.md 8.7)."""
    scale = line("C3 D3 E3 F3", "G3 A3 B3 C4")
    # The open strings of second position are not wanted in that fingering.
    assert shifted(scale, "position=2,open=avoid") == "5:3 5:5 4:2 4:3 4:5 3:2 3:4 3:5"


def test_power_chord_on_g() -> None:
    """A root-position power chord rooted on G stands at fret 3 of the sixth string."""
    assert shifted(line("G2+D3+G3:w"), "position=3") == "6:3+5:5+4:5"


def test_strings() -> None:
    """With strings alone the hand goes where they need it, moving as little as it can."""
    assert shifted(line("D3+A3 E3+B3 F3+C4 G3+D4"), "strings=5+4") == (
        "5:5+4:7 5:7+4:9 5:8+4:10 5:10+4:12"
    )


def test_open_strings_as_wished() -> None:
    """Prefer takes them, avoid takes them only where there is no other way, and says so."""
    tune = line("E2 G3 B3 E4")
    assert shifted(tune, "position=1,open=prefer") == "6:0 3:0 2:0 1:0"
    assert shifted(tune, "position=2,open=avoid") == "6:0 4:5 3:4 2:5"
    result = ShiftPosition(position=2, open="avoid")(tune)
    assert [str(change) for change in result.changes][1:] == [
        "measure 1, beat 1: E2 stays on the open string 6: there is no other place for it here"
    ]


def test_a_stretch_is_used_only_where_it_must() -> None:
    """B3 above G3 and D3 in position V takes the first finger back one fret."""
    assert shifted(line("D3 G3 B3 G3"), "position=5") == "5:5 4:5 3:4 4:5"
    assert shifted(line("D3 G3 C4 G3"), "position=5") == "5:5 4:5 3:5 4:5"


def test_the_next_position_up() -> None:
    """With no wish the part goes to the next place above its lowest one."""
    assert shifted(line("D3 G3 A3 G3")) == "5:5 4:5 4:7 4:5"


def test_held_notes_keep_their_string() -> None:
    """A bass that is held through the line leaves the line the other strings."""
    music = line("C4 D4 E4 F4")
    measure = music.parts[0].measures[0]
    low = Voice("2", (Event(0, 48, NoteValue("whole"), (Note(Pitch.parse("G3")),)),))
    part = replace(music.parts[0], measures=(replace(measure, voices=(*measure.voices, low)),))
    found = shifted(replace(music, parts=(part,)), "position=5")
    assert found == "3:5 3:7 2:5 2:6 4:5"


def test_a_slide_stays_on_its_string() -> None:
    """Both ends of a slide are on one string, even where another string would be nearer."""
    music = line("G3:h C4:h")
    assert shifted(music, "position=5") == "4:5 3:5"
    measure = music.parts[0].measures[0]
    first, second = measure.voices[0].events
    slide = {
        role: Mark("slide", "slide", role, "1", f'<slide type="{role}"/>')
        for role in ("start", "stop")
    }
    sliding = (
        replace(first, notes=(replace(first.notes[0], marks=(slide["start"],)),)),
        replace(second, notes=(replace(second.notes[0], marks=(slide["stop"],)),)),
    )
    part = replace(music.parts[0], measures=(replace(measure, voices=(Voice("1", sliding),)),))
    joined = replace(music, parts=(part,))
    assert shifted(joined, "position=5") == "3:0 3:5"
    assert shifted(joined, "position=9,open=avoid") == "5:10 4:10"  # there is no other way
    assert shifted(joined, "strings=4+3,open=avoid") == "4:5 4:10"


def test_voices_that_meet_share_a_place() -> None:
    """The same pitch in two voices is one note on the neck."""
    music = line("C4:h E4:h")
    measure = music.parts[0].measures[0]
    low = Voice("2", (Event(0, 48, NoteValue("whole"), (Note(Pitch.parse("C4")),)),))
    part = replace(music.parts[0], measures=(replace(measure, voices=(*measure.voices, low)),))
    assert shifted(replace(music, parts=(part,)), "position=5") == "3:5 2:5 3:5"


@pytest.mark.parametrize(
    ("text", "step", "message"),
    [
        (
            "F2 G2 A2 B2",
            "position=5",
            "F2 cannot be played in position V; the whole part fits positions I and II",
        ),
        (
            "E4 F2 r:h",
            "strings=5+4",
            "F2 cannot be played on strings 5 and 4; string 6 can, or leave out strings=",
        ),
        (
            "C3+E3+G3+C4+E4+G4+C5:w",
            "position=1",
            "put reduce-chords before it",
        ),
        ("E1:w", "position=1", "put transpose:octave=fit before it"),
    ],
)
def test_refusals_name_place_cause_and_way_out(text: str, step: str, message: str) -> None:
    """What cannot be played is named, and what would do."""
    with pytest.raises(Unplayable) as caught:
        parse_step(f"shift-position:{step}")(line(text))
    assert message in str(caught.value)
    assert str(caught.value).startswith("measure 1, beat ")
    assert "\n" not in str(caught.value)


def test_wrong_values() -> None:
    """Strings and positions that the instrument or the step has not are refused."""
    with pytest.raises(UsageError, match="0 is out of range"):
        parse_step("shift-position:position=0")
    with pytest.raises(Refusal, match="the instrument has no string 7; use strings 1 to 6"):
        ShiftPosition(strings=(7, 6))(line("E4"))
    with pytest.raises(Refusal, match="no position XXV on a neck of 22 frets"):
        ShiftPosition(position=25)(line("E4"))
    with pytest.raises(UsageError, match="open cannot be 'often'"):
        ShiftPosition(open="often")
