"""Laws of inversion."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import STANDARD, dyads, line, scores
from variants.errors import Refusal
from variants.music import Interval, Pitch
from variants.pipeline import run
from variants.score import Score, events, notes, onsets
from variants.steps.invert_dyads import InvertDyads

ALL: tuple[Interval, ...] = ()
TRITONE = 6
rows = st.lists(dyads(sizes=(7, 5, 3, 4, 8, 9, 2, 10, 1, 11)), min_size=1, max_size=4)


def row(pairs: list[tuple[Pitch, Pitch]], *, tied: bool = False) -> Score:
    """Return a score of dyads without an instrument, each a quarter, or two tied ones."""
    tie = "~" if tied else ""
    tokens = [f"{low}+{high}{tie}" for low, high in pairs]
    texts = [f"{token} {token.removesuffix('~')}" if tied else token for token in tokens]
    return line(" ".join(texts), instrument=None)


def heights(score: Score) -> list[tuple[int | Fraction, ...]]:
    """Return the heights of each onset."""
    return [one.semitones for one in onsets(score.parts[0])]


@given(rows, st.booleans())
def test_inversion_is_the_complement(pairs: list[tuple[Pitch, Pitch]], upper: bool) -> None:
    """An interval and its inversion make an octave; the other note stays where it is."""
    move = "upper" if upper else "lower"
    score = row(pairs)
    turned = heights(InvertDyads(move=move, intervals=ALL)(score))
    for (low, high), (new_low, new_high) in zip(heights(score), turned, strict=True):
        assert (high - low) + (new_high - new_low) == 12
        assert (new_high if upper else new_low) == (low if upper else high)


@given(rows)
def test_lower_up_then_upper_down(pairs: list[tuple[Pitch, Pitch]]) -> None:
    """What the lower note did going up it undoes going down as the upper one."""
    score = row(pairs)
    up = InvertDyads(move="lower", intervals=ALL)(score)
    assert InvertDyads(move="upper", intervals=ALL)(up).parts == score.parts


@given(rows, st.booleans())
def test_twice_restores(pairs: list[tuple[Pitch, Pitch]], tied: bool) -> None:
    """With nothing said the note that is not the root moves, there and back again."""
    score = row(pairs, tied=tied)
    step = InvertDyads(intervals=ALL)
    assert run(score, [step, step]).score.parts == score.parts


@given(rows, st.sampled_from(["top", "bottom"]))
def test_root_is_where_it_was_asked_for(pairs: list[tuple[Pitch, Pitch]], root: str) -> None:
    """Fifths get their root on top or at the bottom, and asking again changes nothing."""
    step = InvertDyads(root=root)
    result = step(row(pairs))
    for low, high in heights(result):
        if high - low in {5, 7}:
            assert (high - low == 5) == (root == "top")
    assert step(result).parts == result.parts


@given(st.lists(dyads(sizes=(16, 15, 19, 28, 21, 17)), min_size=1, max_size=3), st.booleans())
def test_compound_dyads(pairs: list[tuple[Pitch, Pitch]], upper: bool) -> None:
    """A tenth becomes a sixth: the note moves just past the other."""
    score = row(pairs)
    move = "upper" if upper else "lower"
    for old, new in zip(
        heights(score), heights(InvertDyads(move=move, intervals=ALL)(score)), strict=True
    ):
        assert (old[1] - old[0]) % 12 + (new[1] - new[0]) == 12
        assert set(old) & set(new)


@settings(max_examples=40)
@given(scores(parts=1, unpitched=False))
def test_everything_else_is_untouched(score: Score) -> None:
    """Single notes, chords and octaves stay, and rhythm stays everywhere."""
    try:
        result = InvertDyads(intervals=ALL)(score)
    except Refusal:
        return
    for (_, old), (_, new) in zip(events(score.parts[0]), events(result.parts[0]), strict=True):
        assert (old.onset, old.duration, old.value) == (new.onset, new.duration, new.value)
        assert old.marks == new.marks
        if len(old.notes) != 2 and not any(note.tie_stop for note in old.notes):
            assert old == new


@settings(max_examples=40)
@given(scores(parts=1, unpitched=False, in_range=True, instruments=(STANDARD,), microtones=False))
def test_inversions_stay_on_the_neck(score: Score) -> None:
    """What can be played before can be played after: no note leaves the range."""
    if any(note.pitch and not 40 <= note.pitch.midi <= 86 for note in notes(score.parts[0])):
        return
    try:
        result = InvertDyads(intervals=ALL)(score)
    except Refusal:
        return
    for note in notes(result.parts[0]):
        assert note.pitch is not None
        assert 40 <= note.pitch.midi <= 86
