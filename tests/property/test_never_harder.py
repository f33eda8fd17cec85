"""`simplify-rhythm` makes no measure harder, and a strong note never yields to a weak one.

What is hard, where beats are and which is stronger is stated here anew, without the library's own
clock (common practice of counting).
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import line, scores
from variants.errors import Refusal
from variants.music import Metre, NoteValue, Pitch
from variants.musicxml import read
from variants.score import Attributes, Event, Measure, Note, Part, Score, Voice
from variants.steps.simplify_rhythm import SimplifyRhythm

STEPS = [
    SimplifyRhythm(grid=grid, keep=keep)
    for grid in ("half", "quarter", "eighth")
    for keep in ("all", "strong")
]
SAMPLES = sorted(Path("samples").glob("*.musicxml"))
# How short uneven metres are counted; quarters and halves are counted one by one.
UNEVEN = {5: (3, 2), 7: (2, 2, 3), 11: (2, 2, 2, 2, 3), 13: (2, 2, 2, 2, 2, 3)}


def beats(metre: Metre) -> list[Fraction]:
    """Return where the beats of a measure begin, in quarters, and where it ends."""
    found = [Fraction(0)]
    numbers = [
        (int(number), Fraction(4, kind))
        for text, kind in zip(metre.beats, metre.beat_types, strict=True)
        for number in text.split("+")
    ]
    for number, unit in numbers:
        short, alone = unit <= Fraction(1, 2), len(numbers) == 1
        if unit > 1:
            number, unit = int(number * unit), Fraction(1)  # noqa: PLW2901
        sizes = [1] * number
        if short and number % 3 == 0 and (number > 3 or not alone):
            sizes = [3] * (number // 3)
        elif short and number in UNEVEN:
            sizes = list(UNEVEN[number])
        for size in sizes:
            found.append(found[-1] + size * unit)
    return found


def hardness(measure: Measure, at: list[Fraction], ticks: int) -> tuple[object, ...]:
    """Return ties to and from, off-beats, notes in tuplets, and the shortest values, negative."""
    timed = [
        event
        for voice in measure.voices
        for event in voice.events
        if event.grace is None and not event.is_cue
    ]
    notes = [note for event in timed for note in event.notes]
    struck = {
        Fraction(event.onset, ticks)
        for event in timed
        if any(note.pitch is not None and not note.tie_stop for note in event.notes)
    }
    values = [event.value.quarters for event in timed if event.notes and event.value.quarters]
    return (
        sum(note.tie_stop for note in notes),
        sum(note.tie_start for note in notes),
        len(struck - set(at)),
        sum(event.value.is_tuplet for event in timed),
        -min(values, default=Fraction(99)),
    )


def check_never_harder(step: SimplifyRhythm, score: Score) -> None:
    """Compare each measure before and after."""
    result = step(score)
    for old, new in zip(score.parts, result.parts, strict=True):
        metre = Metre()
        for index, (was, now) in enumerate(zip(old.measures, new.measures, strict=True)):
            for change in was.attributes:
                metre = change.metre or metre if change.onset == 0 else metre
            at = beats(metre)
            length = Fraction(was.length, score.ticks)
            if was.is_implicit and index == 0 and length < at[-1]:
                at = [one - (at[-1] - length) for one in at]
            pairs = zip(
                hardness(now, at, result.ticks), hardness(was, at, score.ticks), strict=True
            )
            for name, (after, before) in zip(
                ("ties", "ties", "off-beats", "tuplets", "short values"), pairs, strict=True
            ):
                assert after <= before, f"measure {was.number} has more {name} ({before}, {after})"  # type: ignore[operator]


@settings(max_examples=50)
@given(scores(), st.sampled_from(STEPS))
def test_no_drawn_measure_gets_harder(score: Score, step: SimplifyRhythm) -> None:
    """Drawn scores in simple, compound, uneven and added metres."""
    check_never_harder(step, score)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_no_measure_of_a_sample_gets_harder(path: Path) -> None:
    """The samples, on every grid."""
    score = read(path)
    for step in STEPS:
        check_never_harder(step, score)


def in_metre(metre: Metre, *durations: str) -> Score:
    """Return a rising line in measures of a metre; durations in eighths, ``r`` for a rest."""
    ticks, height = 12, 60
    measures = []
    for index, text in enumerate(durations):
        events, onset = [], 0
        for word in text.split():
            eighths = Fraction(word.strip("r"))
            duration = int(eighths * ticks / 2)
            dotted = eighths.numerator == 3
            base = eighths * 2 / 3 if dotted else eighths
            name = {1: "eighth", 2: "quarter", 4: "half"}.get(int(base), "16th")
            height += "r" not in word
            notes = () if "r" in word else (Note(Pitch.parse(f"C{height % 5 + 2}")),)
            events.append(Event(onset, duration, NoteValue(name, int(dotted)), notes))
            onset += duration
        first = (Attributes(0, metre=metre),) if index == 0 else ()
        measures.append(
            Measure(str(index + 1), onset, (Voice("1", tuple(events)),), attributes=first)
        )
    return Score(ticks, (Part("P1", "Guitar", tuple(measures)),))


@pytest.mark.parametrize(
    ("metre", "music"),
    [
        (Metre(("5",), (8,)), ("3 2", "1 1 1 2", "2 1 2", "3 1 1")),
        (Metre(("3+2",), (8,)), ("3 2", "1 1 1 2", "1 2 2", "3 1 1")),
        (Metre(("5",), (4,)), ("6 4", "4 2 4", "2 4 2 2", "2 2 2 3 1")),
        (Metre(("7",), (8,)), ("2 2 3", "4 3", "1 1 2 3", "3 1 3")),
        (Metre(("6",), (8,)), ("3 3", "2 1 2 1", "1 2 3", "1r 2 3", "2 4")),
        (Metre(("9",), (8,)), ("3 3 3", "2 1 3 2 1", "3 6")),
        (Metre(("3",), (4,)), ("2 2 2", "3 1 2", "1 2 2 1")),
    ],
    ids=str,
)
def test_uneven_and_compound_metres(metre: Metre, music: tuple[str, ...]) -> None:
    """Groups are those of the counting: no tie where a group ends, no dot that hides one."""
    for step in STEPS:
        check_never_harder(step, in_metre(metre, *music))


def test_what_cannot_be_easier_is_left() -> None:
    """5/8 as it is counted, 3+2, stays as it was printed on the grids of beats and halves."""
    score = in_metre(Metre(("5",), (8,)), "3 2", "1 1 1 2")
    for grid in ("half", "quarter", "eighth"):
        assert SimplifyRhythm(grid=grid)(score).parts == score.parts


STRENGTH = {Fraction(0): 0, Fraction(2): 1, Fraction(1): 2, Fraction(3): 2}


def strength(quarters: Fraction) -> int:
    """Return how weak a moment of 4/4 is: downbeat 0, third beat 1, other beats 2, and so on."""
    return STRENGTH.get(quarters, 2 + quarters.denominator.bit_length())


@settings(max_examples=40)
@given(
    st.lists(
        st.lists(st.sampled_from(("e", "e.", "s", "q", "q.", "h")), min_size=1, max_size=9),
        min_size=1, max_size=3,
    ),
    st.sampled_from(("half", "quarter", "eighth")),
)  # fmt: skip
def test_a_strong_note_never_yields(rhythm: list[list[str]], grid: str) -> None:
    """Between two slots, what is dropped is no stronger than what is kept there.

    Each note has its own pitch, so it is known again. A push belongs to the next slot.
    """
    lengths = {"s": Fraction(1, 4), "e": Fraction(1, 2), "e.": Fraction(3, 4), "q": Fraction(1),
               "q.": Fraction(3, 2), "h": Fraction(2)}  # fmt: skip
    names = [f"{letter}{octave}" for octave in range(2, 7) for letter in "CDEFGAB"]
    texts, at = [], {}
    for index, words in enumerate(rhythm):
        onset, text = Fraction(0), []
        for word in words:
            if onset + lengths[word] <= 4 and names:
                name = names.pop(0)
                at[name] = 4 * index + onset
                text.append(f"{name}:{word}")
                onset += lengths[word]
        rests = {Fraction(1, 4): "r:s", Fraction(1, 2): "r:e", Fraction(1): "r", Fraction(2): "r:h"}
        for length in sorted(rests, reverse=True):
            while onset + length <= 4 and (onset / length).denominator == 1:
                text.insert(len(text), rests[length])
                onset += length
        while onset < 4:
            text.append("r:s")
            onset += Fraction(1, 4)
        texts.append(" ".join(text))
    score = line(*texts)
    result = SimplifyRhythm(grid=grid, keep="strong")(score)
    now = {
        str(note.pitch): 4 * index + Fraction(event.onset, result.ticks)
        for index, measure in enumerate(result.parts[0].measures)
        for event in measure.voices[0].events
        for note in event.notes
        if not note.tie_stop
    }
    step = {"half": Fraction(2), "quarter": Fraction(1), "eighth": Fraction(1, 2)}[grid]
    for gone in at.keys() - now.keys():
        window = at[gone] // step
        for kept, new in now.items():
            if at[kept] // step == window == new // step:
                assert strength(at[kept] % 4) <= strength(at[gone] % 4), (kept, gone)


def test_refusals_are_no_traceback() -> None:
    """A score without measures is left alone."""
    try:
        done = SimplifyRhythm()(Score(12, (Part("P1", "Guitar", ()),)))
    except Refusal:  # pragma: no cover -- nothing to refuse
        pytest.fail("an empty part is refused")
    assert done.parts[0].measures == ()
