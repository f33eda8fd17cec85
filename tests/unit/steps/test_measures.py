"""Ranges of measures on small scores."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import line, tokens
from tests.unit.steps.test_scale_values import TEMPO
from variants.contract import Promise, check
from variants.errors import ContractBroken, Refusal, UsageError
from variants.music import Key, Metre
from variants.pipeline import run
from variants.score import (
    Attributes,
    Barline,
    Clef,
    Direction,
    Event,
    Harmony,
    KeySign,
    Lyric,
    Mark,
    Measure,
    Score,
    Voice,
    events,
    map_events,
    with_parts,
)
from variants.steps import Step, parse_step
from variants.steps.measures import Measures
from variants.steps.reduce_chords import ReduceChords
from variants.steps.slow import Slow

EIGHT = tuple(f"{letter}4:w" for letter in "CDEFGABC")


def with_measure(score: Score, index: int, **changes: object) -> Score:
    """Return the score with one measure changed."""
    part = score.parts[0]
    row = list(part.measures)
    row[index] = replace(row[index], **changes)  # type: ignore[arg-type]
    return with_parts(score, [replace(part, measures=tuple(row))])


def cut(score: Score, text: str) -> tuple[Measure, ...]:
    """Return the measures of a range, the contract proven."""
    return run(score, [parse_step(f"measures:range={text}")]).score.parts[0].measures


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("3-5", "3 4 5"),
        ("3", "3"),
        ("7-", "7 8"),
        ("-2", "1 2"),
        ("7-99", "7 8"),
        ("1-8", "1 2 3 4 5 6 7 8"),
    ],
)
def test_ranges(text: str, numbers: str) -> None:
    """Printed numbers, both ends included; open ends; an end past the end is the end."""
    assert [measure.number for measure in cut(line(*EIGHT), text)] == numbers.split()


def test_pick_up() -> None:
    """A pick-up has its own number, and the range -2 begins with it."""
    score = with_measure(line("G4", "C4:w", "D4:w"), 0, number="0", is_implicit=True)
    score = with_measure(with_measure(score, 1, number="1"), 2, number="2")
    assert [one.number for one in cut(score, "-1")] == ["0", "1"]
    assert [one.number for one in cut(score, "1-2")] == ["1", "2"]


def test_what_is_in_force_is_said_again() -> None:
    """Key, metre, clef, tempo and chord that hold at the start stand there."""
    score = line(*EIGHT)
    first = Attributes(0, (KeySign(Key(2)),), Metre(), (Clef("G", 2, -1),))
    score = with_measure(
        score, 0, attributes=(first,), directions=(TEMPO,), harmonies=(Harmony(0, ("D", 0)),)
    )
    score = with_measure(score, 2, attributes=(Attributes(0, (KeySign(Key(-1)),)),))
    head = cut(score, "4-5")[0]
    assert head.attributes == (Attributes(0, (KeySign(Key(-1)),), Metre(), (Clef("G", 2, -1),)),)
    assert head.directions == (TEMPO,)
    assert head.harmonies == (Harmony(0, ("D", 0)),)


def test_own_signs_go_before() -> None:
    """A measure that changes the key itself keeps its own."""
    score = with_measure(line(*EIGHT), 3, attributes=(Attributes(0, (KeySign(Key(3)),)),))
    assert cut(score, "4")[0].attributes == (Attributes(0, (KeySign(Key(3)),), Metre()),)


def test_ties_at_the_edges() -> None:
    """What is held in is struck, what is held out ends; the log says both."""
    score = line("C4:w~", "C4:h D4:h~", "D4:w")
    done = run(score, [Measures(range="2")])
    assert tokens(done.score) == "C4 D4"
    assert [str(one) for one in done.changes] == [
        "measure 2 of 3 measures",
        "measure 2, beat 1: C4 is held over from another measure in the source: struck here",
        "measure 2, beat 3: D4 sounds on in the source: it ends with its measure here",
    ]


def test_ties_inside_stay() -> None:
    """A tie between two measures of the range is a tie."""
    assert tokens(run(line("C4:w~", "C4:w", "D4:w"), [Measures(range="1-2")]).score) == "C4~ C4"


def sung(score: Score, *syllables: str) -> Score:
    """Return the score with a syllable for each note: ``A-`` begins a word, ``-ing`` ends one."""
    left = iter(syllables)

    def lyric(text: str) -> Lyric:
        kind = {(0, 0): "single", (0, 1): "begin", (1, 1): "middle", (1, 0): "end"}[
            text.startswith("-"), text.endswith("-")
        ]
        word = text.strip("-")
        return Lyric("1", kind, word, f"<syllabic>{kind}</syllabic><text>{word}</text>")

    part = score.parts[0]
    return with_parts(
        score, [map_events(part, lambda event: replace(event, lyrics=(lyric(next(left)),)))]
    )


def words(measures: tuple[Measure, ...]) -> str:
    """Return the syllables with their hyphens, as `sung` reads them."""
    found = []
    for measure in measures:
        for event in measure.voices[0].events:
            for one in event.lyrics:
                assert f"<syllabic>{one.syllabic}</syllabic>" in one.xml
                before = "-" if one.syllabic in {"middle", "end"} else ""
                after = "-" if one.syllabic in {"begin", "middle"} else ""
                found.append(f"{before}{one.text}{after}")
    return " ".join(found)


def test_a_word_that_is_cut_is_whole_again() -> None:
    """What is left of a word begins and ends in the range, and the log names the syllable."""
    score = sung(line("C4:h D4:h", "E4:w", "F4:h G4:h"), "A-", "-maz-", "-ing", "grace", "how")
    assert words(cut(score, "1")) == "A- -maz"
    assert words(cut(score, "2")) == "ing"
    assert words(cut(score, "1-2")) == "A- -maz- -ing"
    assert words(cut(score, "3")) == "grace how"
    assert words(cut(sung(line("C4:w", "D4:w", "E4:w"), "Wash-", "-er-", "-wom"), "2")) == "er"
    done = run(score, [Measures(range="2")])
    assert (
        str(done.changes[-1]) == 'measure 2, beat 1: "ing" is part of a word that is cut off here'
    )


def test_a_word_in_repeats_written_out() -> None:
    """A word that the first ending leaves open is cut; one that goes on over the seam is not."""
    score = with_measure(sung(line("C4:w", "D4:w", "E4:w"), "A", "lone-", "-ly"), 1,
                         barlines=(Barline("right", 0, repeat="backward"),))  # fmt: skip
    measures = run(score, [parse_step("expand-repeats")]).score.parts[0].measures
    assert words(measures) == "A lone A lone- -ly"


def test_dynamics_in_force_are_said_again() -> None:
    """What is loud stays so; an accent, a wedge or a mark of its own is not overruled."""
    forte = Direction(0, "<direction-type><dynamics><f/></dynamics></direction-type>")
    accent = Direction(12, "<direction-type><dynamics><sf/></dynamics></direction-type>")
    wedge = Direction(0, '<direction-type><wedge type="crescendo"/></direction-type>')
    piano = Direction(0, "<direction-type><dynamics><p/></dynamics></direction-type>")
    score = with_measure(line(*EIGHT), 0, directions=(forte, accent))
    assert cut(score, "3")[0].directions == (forte,)
    assert cut(with_measure(score, 1, directions=(wedge,)), "3")[0].directions == ()
    assert cut(with_measure(score, 2, directions=(piano,)), "3")[0].directions == (piano,)


def test_beams_over_a_cut_are_drawn_anew() -> None:
    """A beam that leads out of the range is none; what is left is beamed by the beat."""
    score = line("C4:h. D4:e E4:e", "F4:e G4:e A4:h.")
    joined = {(0, 1): "begin", (0, 2): "continue", (1, 0): "continue", (1, 1): "end"}
    for index in (0, 1):
        voice = score.parts[0].measures[index].voices[0]
        row = tuple(
            replace(event, beams=(joined[index, at],)) if (index, at) in joined else event
            for at, event in enumerate(voice.events)
        )
        score = with_measure(score, index, voices=(Voice("1", row),))
    whole = [event.beams for one in cut(score, "1-2") for event in one.voices[0].events]
    assert whole == [(), ("begin",), ("continue",), ("continue",), ("end",), ()]
    for text, beams in (("1", [(), ("begin",), ("end",)]), ("2", [("begin",), ("end",), ()])):
        assert [event.beams for event in cut(score, text)[0].voices[0].events] == beams


def test_slurs_and_wedges_that_are_cut_go() -> None:
    """A slur and a wedge with one end outside are left out, whole ones stay."""
    slurred = [
        replace(event, marks=(Mark("slur", "slur", role, "1", f'<slur type="{role}"/>'),))
        for event, role in zip(
            (event for _, event in events(line("C4:w", "D4:w").parts[0])),
            ("start", "stop"),
            strict=True,
        )
    ]
    score = line(*EIGHT)
    for index, event in enumerate(slurred):
        wedge = f'<wedge type="{("crescendo", "stop")[index]}" number="1"/>'
        direction = Direction(0, f"<direction-type>{wedge}</direction-type>")
        score = with_measure(score, index, voices=(Voice("1", (event,)),), directions=(direction,))
    whole, half = cut(score, "1-2"), cut(score, "2-3")
    assert _marks(whole) == 2
    assert _marks(half) == 0
    assert [len(one.directions) for one in whole] == [1, 1]
    assert [len(one.directions) for one in half] == [0, 0]


def _marks(measures: tuple[Measure, ...]) -> int:
    found: list[Event] = [event for one in measures for event in one.voices[0].events]
    return sum(len(event.marks) for event in found)


def _repeated() -> Score:
    """Return |: 1 2 [1. 3 :| [2. 4 | 5 6 |: 7 8 :|."""
    score = line(*EIGHT)
    signs = {
        0: (Barline("left", 0, repeat="forward"),),
        2: (
            Barline("left", 0, ending=("1", "start", "")),
            Barline("right", 0, style="light-heavy", repeat="backward", ending=("1", "stop", "")),
        ),
        3: (
            Barline("left", 0, ending=("2", "start", "")),
            Barline("right", 0, ending=("2", "discontinue", "")),
        ),
        6: (Barline("left", 0, repeat="forward"),),
        7: (Barline("right", 0, style="light-heavy", repeat="backward"),),
    }
    for index, barlines in signs.items():
        score = with_measure(score, index, barlines=barlines)
    return score


@pytest.mark.parametrize(
    ("text", "kept"),
    [("1-4", 5), ("1-5", 5), ("1-3", 0), ("2-6", 0), ("3-8", 2), ("7-8", 2), ("8", 0), ("1-8", 7)],
)
def test_repeats_stay_where_they_are_whole(text: str, kept: int) -> None:
    """Signs stay when section and endings lie in the range, else they all go."""
    measures = cut(_repeated(), text)
    signs = [one for measure in measures for one in measure.barlines if one.repeat or one.ending]
    assert len(signs) == kept


def test_jumps_go() -> None:
    """A da capo that would leave the range is left out, and the log says so."""
    words = Direction(0, "<direction-type><words>D.C.</words></direction-type>", words="D.C.")
    score = with_measure(line(*EIGHT), 3, directions=(words,))
    done = run(score, [Measures(range="3-4")])
    assert done.score.parts[0].measures[1].directions == ()
    assert "jumps" in done.changes[-1].message
    assert cut(score, "1-8")[3].directions == (words,)


def test_in_a_pipeline() -> None:
    """Steps before and after are proven against the measures that are left."""
    steps: list[Step] = [ReduceChords(to="root"), Measures(range="2-3"), Slow()]
    done = run(line("C3+E3:w", "D3+F3:w", "E3+G3:w", "C4:w"), steps)
    assert done.order == (1, 2)
    assert tokens(done.score) == "D3 E3"
    assert {Promise.PITCH_CLASS_SUBSET, Promise.ROOTS, Promise.MEASURE_LENGTHS} <= done.kept


def test_the_contract_sees_a_wrong_measure() -> None:
    """The measures that are said to be left must be those that are there."""
    score = line(*EIGHT)
    part = replace(score.parts[0], measures=score.parts[0].measures[2:4])
    wrong = with_parts(score, [part])
    check({Promise.SOUNDING_PITCHES}, score, wrong, order=(2, 3), step="s")
    with pytest.raises(ContractBroken, match="measure 4, beat 1"):
        check({Promise.SOUNDING_PITCHES}, score, wrong, order=(2, 4), step="s")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("9", "there is no measure 9; the numbers go from 1 to 8"),
        ("x-4", "there is no measure x"),
        ("5-3", "measure 3 comes before measure 5"),
    ],
)
def test_refusals(text: str, words: str) -> None:
    """What is not there is refused with what is."""
    score = line(*EIGHT)
    if text == "9":
        text = "9-10"
    with pytest.raises(Refusal, match=words):
        run(score, [Measures(range=text)])


def test_wrong_range() -> None:
    """A text that is no range is a wrong call."""
    with pytest.raises(UsageError, match="is no range of measures"):
        parse_step("measures:range=1-2-3")
