"""The capo on small scores."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import STANDARD, line, placed, tokens
from variants.errors import Refusal, UsageError
from variants.pipeline import run
from variants.score import Harmony, Score, notes, with_parts
from variants.steps import parse_step
from variants.steps.capo import Capo


def on_neck(score: Score) -> Score:
    """Return the score with every note placed."""
    return with_parts(score, [placed(part) for part in score.parts])


def places(score: Score) -> list[str]:
    """Return the places of all notes."""
    return [str(note.place) for note in notes(score.parts[0])]


def test_same_sound() -> None:
    """No pitch changes, the capo is set, places are to be found anew."""
    done = run(on_neck(line("A2 C3 E3 G3")), [Capo()])
    assert tokens(done.score) == "A2 C3 E3 G3"
    assert done.score.parts[0].instrument == replace(STANDARD, capo=2)
    assert places(done.score) == ["None"] * 4
    assert [str(one) for one in done.changes] == [
        "capo at fret 2: it sounds as before, and the hand plays other shapes",
        (
            "string and fret of 4 notes no longer hold in measure 1;"
            " they are chosen anew where tab is written"
        ),
    ]


def test_same_shapes() -> None:
    """Every note is higher by the capo's frets, on the same strings and frets."""
    before = on_neck(line("A2 C3 E3 G3"))
    done = run(before, [Capo(fret=3, sound="higher")])
    assert tokens(done.score) == "C3 Eb3 G3 Bb3"
    assert places(done.score) == places(before)
    assert done.interval is not None
    assert done.interval.semitones == 3


def test_from_one_capo_to_another() -> None:
    """The difference counts: from fret 2 to the open neck all sounds a tone lower."""
    capoed = line("A2 E3", instrument=replace(STANDARD, capo=2))
    done = run(capoed, [Capo(fret=0, sound="higher")])
    assert tokens(done.score) == "G2 D3"
    assert done.score.parts[0].instrument == STANDARD


def test_chord_symbols_and_diagrams() -> None:
    """With the same sound diagrams go and the log names the shapes; with the same shapes not."""
    score = line("A2:w")
    symbol = Harmony(0, ("A", 0), frame="<frame/>")
    first = replace(score.parts[0].measures[0], harmonies=(symbol,))
    score = with_parts(score, [replace(score.parts[0], measures=(first,))])
    same = run(score, [Capo()])
    assert same.score.parts[0].measures[0].harmonies == (replace(symbol, frame=""),)
    assert "by shape, play A as G" in same.changes[-1].message
    higher = run(score, [Capo(sound="higher")])
    assert higher.score.parts[0].measures[0].harmonies == (replace(symbol, root=("B", 0)),)


@pytest.mark.parametrize(
    ("root", "fret", "shape"),
    [(("D", -1), 2, "Db as B"), (("B", -1), 1, "Bb as A"), (("F", 1), 4, "F# as D")],
)
def test_shapes_have_usual_names(root: tuple[str, int], fret: int, shape: str) -> None:
    """A shape is named as chord books name it."""
    score = line("A3:w")
    first = replace(score.parts[0].measures[0], harmonies=(Harmony(0, root),))
    score = with_parts(score, [replace(score.parts[0], measures=(first,))])
    assert run(score, [Capo(fret=fret)]).changes[-1].message.endswith(shape)


def test_refusals() -> None:
    """A note below the capo, and a capo at the end of the neck, are refused."""
    with pytest.raises(Refusal, match=r"measure 1, beat 2: F2 lies below all .* capo at fret 2"):
        run(line("A2 F2"), [Capo()])
    with pytest.raises(Refusal) as caught:
        run(line("A2 F2"), [Capo()])
    assert caught.value.way_out.startswith("put fold-octaves:lowest=F#2,highest=D6 before it")
    folded = run(line("A2 F2"), [parse_step("fold-octaves:lowest=F#2,highest=D6"), Capo()])
    assert tokens(folded.score) == "A2 F3"
    short = replace(STANDARD, frets=5)
    with pytest.raises(Refusal, match="no capo fits at fret 5 of a neck with 5 frets"):
        run(line("A3", instrument=short), [Capo(fret=5)])
    one, two = line("A2"), line("A2", instrument=replace(STANDARD, capo=1))
    both = with_parts(one, [one.parts[0], replace(two.parts[0], id="P2")])
    with pytest.raises(Refusal, match="capos at different frets"):
        run(both, [Capo(sound="higher")])


def test_wrong_fret() -> None:
    """Only frets that a capo can sit at are taken."""
    with pytest.raises(UsageError, match="13 is out of range; use a whole number from 0 to 12"):
        parse_step("capo:fret=13")
