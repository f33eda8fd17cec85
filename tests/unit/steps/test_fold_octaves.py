"""Notes out of range on small scores."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.strategies import STANDARD, line, open_strings, scores, tokens
from variants.errors import Refusal, UsageError
from variants.music.key import spelled
from variants.pipeline import run
from variants.score import Instrument, Place, Score, map_notes, notes, onsets, with_parts
from variants.score.timeline import NO_KEY
from variants.steps import parse_step
from variants.steps.fold_octaves import FoldOctaves


def folded(*texts: str, move: str = "notes") -> str:
    """Return the tokens of a line after the step."""
    return tokens(run(line(*texts), [FoldOctaves(move=move)]).score)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("E2 G2 A2 B2", "E2 G2 A2 B2"),
        ("E2 D2 C2 E2", "E2 D3 C3 E2"),
        # Downward to C2 cannot be kept by an octave, upward to D7 neither; the least move.
        ("E4 C1 E4 C8", "E4 C3 E4 C6"),
        ("C2+G2 G2", "C3+G2 G2"),
    ],
)
def test_notes_move_the_least(before: str, after: str) -> None:
    """Only what is out of range moves, to the nearest octave of the instrument."""
    assert folded(before) == after


def test_contour_decides_the_octave() -> None:
    """A line that rises from G3 to D2... goes on rising where an octave lets it."""
    # D2 would move to D3, below the C#3 before it only if that is how the line went.
    assert folded("A2 D7 A2 r") == "A2 D6 A2 r"
    assert folded("G3 C2 B3 r") == "G3 C3 B3 r"


def test_a_phrase_moves_as_one() -> None:
    """With move=phrases the whole phrase moves, and the next one stays."""
    one, two = ("E2 D2 C2 D2", "E2:h. r"), ("E2 G2 A2 B2", "E2:h. r")
    before = folded(*one, *two, *two, move="phrases")
    assert before == "E3 D3 C3 D3 E3 r E2 G2 A2 B2 E2 r E2 G2 A2 B2 E2 r"


def test_a_wide_phrase_moves_note_by_note() -> None:
    """A phrase wider than the instrument cannot move as one."""
    assert folded("C2 E6 G3 r", move="phrases") == folded("C2 E6 G3 r")


def test_ties_move_together() -> None:
    """A note moves with all that is tied to it."""
    assert folded("r:h D2:h~", "D2:h E2:h") == "r D3~ D3 E2"


def test_the_log_says_what_moved() -> None:
    """Each moved note has its line, with measure and beat; its place is cleared."""
    score = line("E2 D2 E2 E2")
    placed = map_notes(score.parts[0], lambda note: note)
    done = run(with_parts(score, [placed]), [FoldOctaves()])
    assert [str(one) for one in done.changes] == [
        "measure 1, beat 2: D2 is out of range and moves up an octave to D3"
    ]
    assert [note.place for note in notes(done.score.parts[0])] == [None] * 4


def test_nothing_to_do_is_said() -> None:
    """A line in range comes back with one line of log."""
    done = run(line("E2 E4"), [FoldOctaves()])
    assert [one.message for one in done.changes] == ["every note is in range as it is"]


def test_capo_and_tuning_count() -> None:
    """The range is that of the strings as they are tuned and capoed."""
    capoed = Instrument(STANDARD.open_strings, capo=5)
    done = run(line("E2 A2", instrument=capoed), [FoldOctaves()])
    assert tokens(done.score) == "E3 A2"
    assert capoed.sounding(Place(6, 0)) == 45


def test_no_octave_is_refused() -> None:
    """An instrument of a few frets lacks some notes in every octave."""
    short = Instrument(open_strings("E2"), frets=4)
    with pytest.raises(Refusal, match="measure 1, beat 2: C has no octave on the instrument"):
        run(line("E2 C3", instrument=short), [FoldOctaves()])


def test_wrong_word() -> None:
    """Only the known words are taken."""
    with pytest.raises(UsageError, match="move cannot be"):
        FoldOctaves(move="bars")


@pytest.mark.parametrize(
    ("text", "before", "after"),
    [
        # A3 stays at the upper bound itself; B3 is beyond it.
        ("fold-octaves:lowest=A2,highest=A3", "A2 E3 A3 B3", "A2 E3 A3 B2"),
        ("fold-octaves:lowest=A2", "A2 G2 E2 C4", "A2 G3 E3 C4"),
        ("fold-octaves:highest=E4", "E4 F4 D4 E5", "E4 F3 D4 E4"),
        # The instrument's own range still bounds a wider wish.
        ("fold-octaves:lowest=C1,highest=C8", "E2 D2 E2 r", "E2 D3 E2 r"),
    ],
)
def test_own_range(text: str, before: str, after: str) -> None:
    """Notes beyond the named range move by octaves into it, the others stay."""
    assert tokens(run(line(before), [parse_step(text)]).score) == after


@given(scores(), st.integers(40, 62), st.integers(11, 24))
def test_all_notes_end_in_the_named_range(score: Score, low: int, width: int) -> None:
    """Whatever the score, no note is left outside, and each keeps its pitch class."""
    lowest, highest = spelled(low, NO_KEY), spelled(low + width, NO_KEY)
    try:
        done = run(score, [FoldOctaves(lowest=lowest, highest=highest)]).score
    except Refusal:
        return
    for part, old in zip(done.parts, score.parts, strict=True):
        if part.instrument is None:
            continue
        heights = [note.pitch for note in notes(part) if note.pitch is not None]
        # A quarter tone is bent up from its fret, and the fret is what lies in the range.
        assert all(low <= pitch.midi <= low + width for pitch in heights)
        for now, was in zip(onsets(part), onsets(old), strict=True):
            assert {one % 12 for one in now.semitones} == {one % 12 for one in was.semitones}


def test_a_note_moved_onto_another_is_one_with_it() -> None:
    """F2 under F3 becomes no second F3, and the line says so, and that C3 is the bass now."""
    done = run(line("F2+C3+F3 G2"), [parse_step("fold-octaves:lowest=G2")])
    assert tokens(done.score) == "C3+F3 G2"
    assert [str(change) for change in done.changes] == [
        (
            "measure 1, beat 1: F2 is out of range and moves up an octave to F3, which is there"
            " already; another note is the lowest of the chord"
        )
    ]


def test_range_under_an_octave_is_refused() -> None:
    """A range that leaves a pitch class without a note cannot be asked for."""
    with pytest.raises(UsageError, match="octave"):
        parse_step("fold-octaves:lowest=E2,highest=D3")
