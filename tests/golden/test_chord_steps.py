"""One measure before and after each chord step: the texts and pictures of ``docs/steps-chords.md``.

``pytest tests/golden/test_chord_steps.py --update-golden`` writes texts and pictures anew; look at
the difference before it is committed. A line of a text is a moment: its notes with their places
(string:fret), its length in quarters, and the chord symbol that stands there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import pytest

from tests.conftest import Golden
from tests.golden.drawings import drawn
from tests.strategies import line
from variants.pipeline import run
from variants.score import Event, Harmony, Measure, Score, with_parts
from variants.steps import parse_step
from variants.steps.wording.words import symbol_text

HERE = Path(__file__).parent / "chord_steps"
DOCS = Path(__file__).parents[2] / "docs"


@dataclass(frozen=True)
class Example:
    """One measure: its notes, chord symbols by beat, steps that prepare it, the step shown."""

    notes: str
    step: str
    symbols: tuple[tuple[int, str, str], ...] = ()
    first: tuple[str, ...] = ()


EXAMPLES = {
    "open-strings": Example(
        "A3:e B3:e D4:e E4:e G4 B3", "open-strings", first=("shift-position:position=5",)
    ),
    "open-strings-avoid": Example(
        "A3:e B3:e D4:e E4:e G4 B3", "open-strings:use=avoid", first=("open-strings",)
    ),
    "revoice": Example("C3+E3+G3+C4+E4:h G2+B2+D3+G3+B3+G4:h", "revoice:strings=4+3+2"),
    "revoice-inversion": Example("C3+E3+G3 F3+A3+C4 G3+B3+D4:h", "revoice:shape=1st-inversion"),
    "revoice-octave": Example("E2+B2 G2+D3 A2+E3:h", "revoice:shape=octave"),
    "harmonize-chords": Example("C3+E3+G3 B2+D3+G3 A2+E3 E3+A3", "harmonize-chords"),
    "harmonize-chords-measure": Example(
        "C3:e G3:e C4:e E4:e D4:e C4:e G3:e E3:e", "harmonize-chords:per=measure"
    ),
    "strum": Example(
        "E4 G4 F#4 D4", "strum:pattern=down-up", symbols=((0, "C", "major"), (2, "D", "dominant"))
    ),
    "strum-barre": Example("F4 A4 C5 A4", "strum:barre=full", symbols=((0, "F", "major"),)),
}


def source(example: Example) -> Score:
    """Return the measure before its step."""
    score = line(example.notes)
    part = score.parts[0]
    symbols = tuple(
        Harmony(beat * score.ticks, (root, 0), kind) for beat, root, kind in example.symbols
    )
    measure = replace(part.measures[0], harmonies=symbols)
    score = with_parts(score, [replace(part, measures=(measure,))])
    return replace(run(score, [parse_step(one) for one in example.first]).score, changes=())


def told(example: Example) -> str:
    """Return the measure before and after as text."""
    before = source(example)
    after = run(before, [parse_step(example.step)]).score
    lines = ["before", *_moments(before), example.step, *_moments(after)]
    lines += [f"log: {change}" for change in after.changes]
    return "\n".join(line.rstrip() for line in lines) + "\n"


def _moments(score: Score) -> list[str]:
    measure = score.parts[0].measures[0]
    return [_moment(measure, event, score.ticks) for event in measure.voices[0].events]


def _moment(measure: Measure, event: Event, ticks: int) -> str:
    notes = " ".join(
        f"{note.pitch}({note.place.string}:{note.place.fret})" if note.place else str(note.pitch)
        for note in event.notes
    )
    symbols = " ".join(symbol_text(one) for one in measure.harmonies if one.onset == event.onset)
    length = str(Fraction(event.duration, ticks))
    tied = "~" if event.notes and event.notes[0].tie_start else ""
    return f"  {symbols:<5} {length + tied:<5} {notes or 'rest'}"


@pytest.mark.parametrize("name", EXAMPLES)
def test_example(name: str, golden: Golden, request: pytest.FixtureRequest) -> None:
    """A measure becomes what was looked at; its pictures are drawn anew with the golden files."""
    golden(HERE / f"{name}.txt", told(EXAMPLES[name]))
    if request.config.getoption("--update-golden"):
        _draw(name)


def test_no_text_is_left_over() -> None:
    """Every text has its example."""
    assert {path.stem for path in HERE.glob("*.txt")} == set(EXAMPLES)


def test_docs_show_them_all() -> None:
    """The page shows both pictures of every example, calls every step, and has no dead picture."""
    page = (DOCS / "steps-chords.md").read_text(encoding="utf-8")
    shown = set(re.findall(r"\(pictures/([a-z0-9-]+)\.svg\)", page))
    both = {f"{name}-{when}" for name in EXAMPLES for when in ("before", "after")}
    assert shown == both | {"grip-c", "grip-d7", "grip-f"}
    for picture in shown:
        assert (DOCS / "pictures" / f"{picture}.svg").is_file()
    for example in EXAMPLES.values():
        assert f"`{example.step}`" in page


def _draw(name: str) -> None:
    from variants.sheets import draw_grip, grips_of
    from variants.sheets.style import print_named

    before = source(EXAMPLES[name])
    after = run(before, [parse_step(EXAMPLES[name].step)]).score
    for when, score in (("before", before), ("after", after)):
        (DOCS / "pictures" / f"{name}-{when}.svg").write_text(drawn(score), encoding="utf-8")
    for grip in grips_of(after.parts[0]):
        path = DOCS / "pictures" / f"grip-{grip.name.lower()}.svg"
        path.write_text(draw_grip(grip, print_named("normal")).svg, encoding="utf-8")
