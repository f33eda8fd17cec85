"""Idiomatic rhythms before and after `simplify-rhythm`, as text to be read.

``pytest tests/golden/test_rhythm.py --update-golden`` writes the files anew; look at the difference
before it is committed. In each file a measure is written in note values (``w h q e s``, ``t`` for a
triplet eighth, a point for a dot, ``~`` for a tie, ``*`` for a syllable) and, under it, as a strip
of time: a letter where a note begins, points while it sounds, dashes for silence, a bar for each
beat.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import pytest

from tests.conftest import Golden
from variants.contract import check
from variants.music import Key, Metre, NoteValue, Pitch
from variants.score import (
    Attributes,
    Event,
    Harmony,
    KeySign,
    Lyric,
    Measure,
    Note,
    Part,
    Score,
    Voice,
    measures,
)
from variants.steps import Step, parse_step

HERE = Path(__file__).parent / "rhythm"
TICKS = 12
STEPS = (
    "simplify-rhythm",
    "simplify-rhythm:keep=strong",
    "simplify-rhythm:grid=eighth",
    "simplify-rhythm:grid=half,keep=strong",
)
VALUES = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th"}
LETTERS = {name: letter for letter, name in VALUES.items()}
TRIPLET = NoteValue("eighth", 0, 3, 2, "eighth")


@dataclass(frozen=True)
class Figure:
    """A rhythm: what it is called, its metre, its measures, chord symbols by (measure, quarter)."""

    name: str
    metre: str
    music: tuple[str, ...]
    chords: tuple[tuple[int, Fraction, str], ...] = ()


FIGURES = {
    "dotted-eighth": Figure("Dotted eighth and 16th", "4/4", ("E4:e. F4:s G4 A4:e. G4:s F4",)),
    "dotted-quarter": Figure("Dotted quarter and eighth", "4/4", ("E4:q. F4:e G4:q. A4:e", "B4:w")),
    "tied-syncopation": Figure(
        "A note tied over the barline", "4/4", ("E4 F4 G4:q. A4:e~", "A4 B4 C5:h")
    ),
    "short-long-short": Figure("Eighth, quarter, eighth", "4/4", ("E4:e G4 A4:e B4:h",)),
    "off-beats": Figure("Off-beat eighths", "4/4", ("r:e E4:e r:e F4:e r:e G4:e r:e A4:e", "B4:w")),
    "triplets": Figure("Triplets", "4/4", ("E4:t F4:t G4:t A4 B4:t A4:t G4:t F4", "E4:w")),
    "run-of-16ths": Figure("A run of 16ths", "4/4", ("C4:s D4:s E4:s F4:s G4 r A4", "G4:w")),
    "repeated-notes": Figure("Repeated notes", "4/4", ("E4:e E4:e E4:s E4:s E4:e G4 G4", "C4:w")),
    "pick-up": Figure("Two eighths as a pick-up", "3/4", ("C4:e D4:e", "E4 F4:e G4:e A4", "G4:h.")),
    "hemiola": Figure("Hemiola: two measures of 3/4 as three of 2/4", "3/4", (
        "E4:h F4~", "F4 G4:h", "A4:h.",
    )),
    "jig": Figure("Running eighths in 6/8", "6/8", ("E4:e F4:e G4:e A4:e G4:e F4:e", "E4:h.")),
    "siciliano": Figure("The dotted figure of 6/8", "6/8", (
        "E4:e. F4:s G4:e A4 G4:e", "F4:q. E4:q.",
    )),
    "charleston": Figure("Charleston: dotted quarter and eighth tied on", "4/4", (
        "C4+E4:q. D4+F4:e~ D4+F4:h", "C4+E4:w",
    )),
    "clave": Figure("Three against four beats", "4/4", ("E4:q. E4:q. E4", "r G4 G4:h")),
    "words-stay": Figure(
        "A syllable, then a chord change, worth more than the metre", "4/4",
        ("E4:e F4:s G4:s* r A4:h", "E4:e F4:s G4:s r A4:h", "C5:w"),
        ((1, Fraction(3, 4), "C"),),
    ),
    "phrase-ends": Figure(
        "The last note before a rest and the first after it", "4/4",
        ("E4:e F4:e G4:e r:e r:h", "r:e B4:e A4:e G4:e F4:h", "E4:w"),
    ),
}  # fmt: skip


def built(figure: Figure) -> Score:
    """Return the score of a figure; a first measure that is too short is a pick-up."""
    beats, unit = figure.metre.split("/")
    metre = Metre((beats,), (int(unit),))
    held: set[str] = set()
    made: list[Measure] = []
    pick_up = False
    for index, text in enumerate(figure.music):
        events: list[Event] = []
        onset = 0
        for token in text.split():
            event, held = _event(token, onset, held)
            events.append(event)
            onset = event.end
        pick_up = pick_up or (index == 0 and onset < metre.quarters * TICKS)
        first = Attributes(0, (KeySign(Key(0)),), metre)
        made.append(
            Measure(
                str(index if pick_up else index + 1),
                onset,
                (Voice("1", tuple(events)),),
                is_implicit=pick_up and index == 0,
                attributes=(first,) if index == 0 else (),
                harmonies=tuple(
                    Harmony(int(at * TICKS), (root, 0))
                    for measure, at, root in figure.chords
                    if measure == index
                ),
            )
        )
    return Score(TICKS, (Part("P1", "Guitar", tuple(made)),))


def _event(token: str, onset: int, held: set[str]) -> tuple[Event, set[str]]:
    tied, sung = "~" in token, "*" in token
    names, _, kind = token.strip("~*").partition(":")
    value = TRIPLET if kind == "t" else NoteValue(VALUES[kind[:1] or "q"], kind.count("."))
    sounding = [] if names == "r" else names.split("+")
    notes = tuple(Note(Pitch.parse(name), name in held, tied) for name in sounding)
    lyrics = (Lyric("1", "single", "la", "<text>la</text>"),) if sung else ()
    event = Event(onset, int((value.quarters or 0) * TICKS), value, notes, lyrics=lyrics)
    return event, set(sounding) if tied else set()


def values(score: Score) -> list[str]:
    """Return each measure in note values."""
    return [" ".join(map(_token, measure.voices[0].events)) for measure in score.parts[0].measures]


def _token(event: Event) -> str:
    names = "+".join(str(note.pitch) for note in event.notes) or "r"
    if event.is_measure_rest:
        return "r:measure"
    kind = "t" if event.value.is_tuplet and event.value.type == "eighth" else ""
    kind = kind or LETTERS[event.value.type] + "." * event.value.dots
    tied = "~" if any(note.tie_start for note in event.notes) else ""
    return f"{names}{'' if kind == 'q' else ':' + kind}{tied}{'*' if event.lyrics else ''}"


def strips(score: Score, step: int) -> list[str]:
    """Return each measure as a strip of time, ``step`` characters to a quarter."""
    part = score.parts[0]
    found = []
    for view in measures(part, score.ticks):
        row = ["-"] * int(Fraction(view.measure.length * step, score.ticks))
        for event in view.measure.voices[0].events:
            begin, end = (Fraction(at * step, score.ticks) for at in (event.onset, event.end))
            for column in range(int(begin), int(end)):
                row[column] = "." if event.notes else "-"
            if event.is_struck and event.notes[0].pitch is not None:
                row[int(begin)] = event.notes[0].pitch.letter
        found.append(_barred(row, view.metre, int(Fraction(view.shift * step, score.ticks)), step))
    return found


def _barred(row: list[str], metre: Metre, shift: int, step: int) -> str:
    text, at, ends = "", shift, [Fraction(0)]
    for length in metre.beat_lengths:
        ends.append(ends[-1] + length * step)
    for character in row:
        text += ("|" if at in ends else "") + character
        at += 1
    return text + "|"


def told(figure: Figure) -> str:
    """Return a figure before and after every step as text."""
    score = built(figure)
    step = TICKS if any(":t" in text for text in figure.music) else 4
    lines = [f"{figure.name}, {figure.metre}", ""]
    lines += _block("before", score, step)
    for text in STEPS:
        one = parse_step(text)
        result = one(score)
        _proven(one, score, result)
        lines += _block(text, result, step)
        lines += [f"    {change}" for change in result.changes] + [""]
    return "\n".join(line.rstrip() for line in lines).rstrip() + "\n"


def _proven(step: Step, before: Score, after: Score) -> None:
    check(step.keeps, before, after, step="simplify-rhythm")
    again = step(replace(after, changes=()))
    assert again == after, "twice is not once"


def _block(name: str, score: Score, step: int) -> list[str]:
    rows = zip(values(score), strips(score, step), strict=True)
    found = [name]
    for number, (text, strip) in enumerate(rows, 1):
        found += [f"  {number}  {text}", f"     {strip}"]
    return [*found, ""] if name == "before" else found


@pytest.mark.parametrize("name", FIGURES)
def test_figure(name: str, golden: Golden) -> None:
    """A figure becomes what was looked at; every contract holds, and twice is once."""
    golden(HERE / f"{name}.txt", told(FIGURES[name]))


def test_every_figure_is_there() -> None:
    """At least ten figures, and no file is left over from one that is gone."""
    assert {path.stem for path in HERE.glob("*.txt")} == set(FIGURES)
    assert len(FIGURES) >= 10
