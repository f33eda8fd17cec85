"""Pick strokes: D down, U up, - not struck."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.unit.marks.figures import TICKS, figure, lyrics_of
from variants.marks import apply_marks, strokes_of
from variants.score import Event, Mark, Score, map_events

_SHORT = {"down-bow": "D", "up-bow": "U"}


def strokes_in(score: Score) -> str:
    """Return the strokes of the first voice."""
    found = []
    for measure in score.parts[0].measures:
        for event in measure.voices[0].events:
            signs = [_SHORT[m.name] for note in event.notes for m in note.marks if m.name in _SHORT]
            found.append("".join(signs) or "-")
    return "".join(found)


@pytest.mark.parametrize(
    ("metre", "rhythm", "expected"),
    [
        ("4/4", "q q q q", "DDDD"),
        ("4/4", "e e e e e e e e", "DUDUDUDU"),
        ("4/4", "q e e q e e", "DDUDDU"),
        ("4/4", "e q e e q e", "DUUDUU"),
        ("4/4", "q. e q. e", "DUDU"),
        ("4/4", "re e re e re e q", "-U-U-UD"),
        ("4/4", "e e~ e e h", "DU-UD"),
        ("2/4", "s s s s e e", "DUDUDU"),
        ("2/4", "e s s s s e", "DDUDUD"),
        ("2/4", "e. s s e.", "DUDU"),
        ("2/4", "rs s e q", "-UDD"),
        ("2/4", "e3 e3 e3 e3 e3 e3", "DUDDUD"),
        ("2/4", "q3 e3 q3 e3", "DUDU"),
        ("6/8", "e e e e e e", "DUDDUD"),
        ("6/8", "q e q e", "DDDD"),
        ("6/8", "s s s s s s q.", "DUDUDUD"),
        ("6/8", "e. s e q.", "DUDD"),
        ("5/8", "e e e e e", "DUDDU"),
        ("3/8", "e e e", "DUD"),
        ("2/2", "q q e e q", "DDDUD"),
        ("4/4", "e | q q q q", "UDDDD"),
    ],
)
def test_by_metre(metre: str, rhythm: str, expected: str) -> None:
    """Down on the beat, up off it; the hand moves on through rests and ties."""
    assert strokes_in(apply_marks(figure(metre, rhythm), {}, "strokes")) == expected


@pytest.mark.parametrize(
    ("metre", "rhythm", "way", "expected"),
    [
        ("6/8", "e e e e e e", "alternate", "DUDUDU"),
        ("4/4", "q e e q q", "alternate", "DUDUD"),
        ("4/4", "q rh q", "alternate", "D-D"),
        ("4/4", "e e e e h", "down", "DDDDD"),
    ],
)
def test_other_ways(metre: str, rhythm: str, way: str, expected: str) -> None:
    """Strict alternation starts anew after a beat of rest; all down is all down."""
    assert strokes_in(apply_marks(figure(metre, rhythm), {}, f"strokes={way}")) == expected


def test_one_stroke_for_both_voices() -> None:
    """Two voices that are struck together get one stroke."""
    score = apply_marks(figure("2/4", "q q", "h:E2"), {}, "strokes")
    assert strokes_in(score) == "DD"
    assert not score.parts[0].measures[0].voices[1].events[0].notes[0].marks


def test_a_pull_off_is_not_picked() -> None:
    """The fretting hand sounds what is pulled off."""
    score = figure("2/4", "e e q")
    pull = Mark("technical", "pull-off", "stop", "1", '<pull-off type="stop" number="1"/>')

    def pulled(event: Event) -> Event:
        if event.onset != TICKS // 2:
            return event
        return replace(event, notes=(replace(event.notes[0], marks=(pull,)),))

    score = replace(score, parts=(map_events(score.parts[0], pulled),))
    assert strokes_in(apply_marks(score, {}, "strokes")) == "D-D"


def test_the_source_s_own_stroke_stands() -> None:
    """A stroke of the source is neither doubled nor taken off."""
    score = figure("2/4", "q q")
    up = Mark("technical", "up-bow", "", "", "<up-bow/>")

    def set_up(event: Event) -> Event:
        return replace(event, notes=(replace(event.notes[0], marks=(up,)),))

    score = replace(score, parts=(map_events(score.parts[0], set_up),))
    marked = apply_marks(score, {}, "strokes")
    assert strokes_in(marked) == "UU"
    assert apply_marks(marked, {}, "none") == score


def test_where_a_stroke_comes_to_rest() -> None:
    """A down stroke rests on the next string, not on one that sounds, and not beyond string 1."""
    score = figure(
        "4/4", "q:A2@5.0 q:E4@1.0 e:A2@5.0 e:A2@5.0 q:C3@5.3", "h:G4@1.3 q:D3@4.0 q:D3@4.0"
    )
    found = strokes_of(score.parts[0], TICKS)
    assert [(one.is_down, one.rests_on) for one in found] == [
        (True, 0),  # with string 1
        (True, 0),  # on string 1 itself
        (True, 3),  # strings 5 and 4 together
        (False, 0),  # up
        (True, 3),
    ]


def test_rest_strokes_are_written_on_request() -> None:
    """The string that a stroke rests on is written only when asked for."""
    score = figure("2/4", "q:A2@5.0 q:A2@5.0")
    assert lyrics_of(apply_marks(score, {}, "strokes"), "rest-strokes") == ["- -"]
    marked = apply_marks(score, {}, "strokes=rests-on")
    assert lyrics_of(marked, "rest-strokes") == ["→④ →④"]
    assert apply_marks(marked, {}, "none") == score
