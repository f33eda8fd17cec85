"""Repeats, endings and jumps written out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line, tokens
from tests.unit.steps.test_measures import with_measure
from tests.unit.steps.test_scale_values import TEMPO
from variants.errors import Refusal
from variants.music import Key
from variants.pipeline import run
from variants.score import Attributes, Barline, Direction, KeySign, Note, Score
from variants.steps.expand_repeats import ExpandRepeats

# Signs by measure, from 1: (: and :) repeats, [1 and ]1 endings, words for jumps.
_BARLINES = {
    "(:": Barline("left", 0, style="heavy-light", repeat="forward"),
    ":)": Barline("right", 0, style="light-heavy", repeat="backward"),
    ":)3": Barline("right", 0, repeat="backward", times=3),
    "[1": Barline("left", 0, ending=("1", "start", "")),
    "[2": Barline("left", 0, ending=("2", "start", "")),
    "[3": Barline("left", 0, ending=("3", "start", "")),
    "[12": Barline("left", 0, ending=("1, 2", "start", "")),
    "1]": Barline("right", 0, repeat="backward", ending=("1", "stop", "")),
    "12]": Barline("right", 0, repeat="backward", ending=("1, 2", "stop", "")),
    "2]": Barline("right", 0, ending=("2", "discontinue", "")),
    "3]": Barline("right", 0, ending=("3", "stop", "")),
}
_SOUNDS = {
    "dc": '<sound dacapo="yes"/>',
    "ds": '<sound dalsegno="s"/>',
    "segno": '<sound segno="s"/>',
    "tocoda": '<sound tocoda="c"/>',
    "coda": '<sound coda="c"/>',
    "fine": '<sound fine="yes"/>',
}
_WORDS = {"D.C. al Fine", "D.S. al Coda", "To Coda", "Fine", "Coda", "DS al Coda", "G D C"}


def signed(count: int, signs: dict[int, str]) -> Score:
    """Return a score of so many measures with signs."""
    score = line(*(f"{'CDEFGAB'[n % 7]}{3 + n // 7}:w" for n in range(count)))
    for number, text in signs.items():
        barlines, directions = [], []
        for name in text.split("|"):
            if name in _BARLINES:
                barlines.append(_BARLINES[name])
            elif name in _WORDS:
                xml = f"<direction-type><words>{name}</words></direction-type>"
                directions.append(Direction(0, xml, words=name))
            elif name in _SOUNDS:
                xml = "<direction-type><words>sign</words></direction-type>"
                directions.append(Direction(0, xml, _SOUNDS[name], words="sign"))
            else:
                directions.append(Direction(0, f"<direction-type><{name}/></direction-type>"))
        score = with_measure(
            score, number - 1, barlines=tuple(barlines), directions=tuple(directions)
        )
    return score


def played(score: Score) -> str:
    """Return the measures in the order of playing, counted from 1."""
    return " ".join(str(index + 1) for index in ExpandRepeats().order_for(score))


@pytest.mark.parametrize(
    ("signs", "order"),
    [
        ({}, "1 2 3 4 5 6"),
        ({2: "(:", 3: ":)"}, "1 2 3 2 3 4 5 6"),
        ({2: ":)"}, "1 2 1 2 3 4 5 6"),
        ({2: ":)", 4: ":)"}, "1 2 1 2 3 4 3 4 5 6"),
        ({1: "(:|:)3"}, "1 1 1 2 3 4 5 6"),
        ({1: "(:", 2: "[1|1]", 3: "[2|2]"}, "1 2 1 3 4 5 6"),
        ({1: "(:", 2: "[12|12]", 3: "[3|3]"}, "1 2 1 2 1 3 4 5 6"),
        ({1: "(:", 2: "[1|1]", 3: "[2|2]", 4: "(:", 5: "[1|1]", 6: "[2|2]"}, "1 2 1 3 4 5 4 6"),
        ({1: "(:", 2: "[1|1]"}, "1 2 1 3 4 5 6"),
        ({4: "dc"}, "1 2 3 4 1 2 3 4 5 6"),
        ({2: "fine", 6: "dc"}, "1 2 3 4 5 6 1 2"),
        ({2: "segno", 3: "fine", 6: "ds"}, "1 2 3 4 5 6 2 3"),
        ({2: "segno", 3: "tocoda", 5: "ds", 6: "coda"}, "1 2 3 4 5 2 3 6"),
        ({2: "Fine", 6: "D.C. al Fine"}, "1 2 3 4 5 6 1 2"),
        ({2: "segno/><x", 3: "To Coda", 5: "D.S. al Coda", 6: "coda/><x"}, "1 2 3 4 5 2 3 6"),
        # Common practice: without dots, and a coda that is said in words alone.
        ({2: "segno/><x", 3: "To Coda", 5: "DS al Coda", 6: "Coda"}, "1 2 3 4 5 2 3 6"),
        # Names of chords.
        ({4: "G D C"}, "1 2 3 4 5 6"),
        # Repeats are not taken again after a da capo, and the last ending is.
        ({1: "(:", 2: "[1|1]", 3: "[2|2]|fine", 6: "dc"}, "1 2 1 3 4 5 6 1 3"),
    ],
)
def test_order(signs: dict[int, str], order: str) -> None:
    """The order of playing, as players take the signs."""
    assert played(signed(6, signs)) == order


def test_written_out() -> None:
    """The notes follow in the order of playing, numbered anew, with no sign left."""
    done = run(signed(4, {1: "(:", 2: "[1|1]", 3: "[2|2]"}), [ExpandRepeats()])
    measures = done.score.parts[0].measures
    assert tokens(done.score) == "C3 D3 C3 E3 F3"
    assert [one.number for one in measures] == ["1", "2", "3", "4", "5"]
    assert not [b for m in measures for b in m.barlines if b.repeat or b.ending]
    assert measures[-1].barlines == (Barline("right", 0, style="light-heavy"),)
    assert done.changes[0].message == (
        "repeats written out: measures 1-2, 1, 3-4 of the source, numbered anew;"
        " 4 measures became 5"
    )


def test_key_is_said_again_at_a_jump() -> None:
    """Where the music jumps back over a change of key, the old key is printed again."""
    score = signed(3, {3: ":)"})
    score = with_measure(score, 1, attributes=(Attributes(0, (KeySign(Key(3)),)),))
    measures = run(score, [ExpandRepeats()]).score.parts[0].measures
    assert measures[3].attributes[0].keys == (KeySign(Key(0)),)
    assert measures[4].attributes[0].keys == (KeySign(Key(3)),)


def test_what_holds_is_not_said_twice() -> None:
    """A repeated first measure does not print key, metre and tempo again that hold already."""
    score = with_measure(signed(2, {2: ":)"}), 0, directions=(TEMPO,))
    measures = run(score, [ExpandRepeats()]).score.parts[0].measures
    assert measures[0].directions == (TEMPO,)
    assert (measures[2].attributes, measures[2].directions) == ((), ())


def test_ties_over_endings() -> None:
    """A note tied into both endings is held into both; one tied into the first only ends there."""
    both = line("C3:w~", "C3:w", "C3:w")
    held = [replace(note, tie_stop=True) for note in _first_notes(both, 2)]
    part = both.parts[0]
    voice = part.measures[2].voices[0]
    event = replace(voice.events[0], notes=tuple(held))
    both = with_measure(both, 2, voices=(replace(voice, events=(event,)),))
    for index, barlines in (
        (0, (_BARLINES["(:"],)),
        (1, (_BARLINES["[1"], _BARLINES["1]"])),
        (2, (_BARLINES["[2"], _BARLINES["2]"])),
    ):
        both = with_measure(both, index, barlines=barlines)
    assert tokens(run(both, [ExpandRepeats()]).score) == "C3~ C3 C3~ C3"
    one = with_measure(both, 2, voices=line("D3:w").parts[0].measures[0].voices)
    assert tokens(run(one, [ExpandRepeats()]).score) == "C3~ C3 C3 D3"


def _first_notes(score: Score, index: int) -> tuple[Note, ...]:
    return score.parts[0].measures[index].voices[0].events[0].notes


def test_nothing_to_do() -> None:
    """A score without signs comes back as it was, and the log says so."""
    done = run(line("C3:w"), [ExpandRepeats()])
    assert done.score.parts == line("C3:w").parts
    assert [one.message for one in done.changes] == ["there is nothing to repeat"]


def test_twice_is_once() -> None:
    """What is written out has nothing more to repeat."""
    once = run(signed(6, {1: "(:", 2: ":)", 6: "dc"}), [ExpandRepeats()]).score
    assert run(once, [ExpandRepeats()]).score.parts == once.parts


def test_refusals() -> None:
    """A jump to nowhere, and repeats without an end, are refused."""
    with pytest.raises(Refusal, match="a jump leads to a segno, and there is none"):
        run(signed(4, {4: "ds"}), [ExpandRepeats()])
    long = with_measure(
        line("C3:w"), 0, barlines=(Barline("right", 0, repeat="backward", times=20_000),)
    )
    with pytest.raises(Refusal, match="more than 10000 measures"):
        run(long, [ExpandRepeats()])
