"""One measure before and after each step, and ``docs/steps.md``, which is made of them.

``pytest tests/golden/test_steps.py --update-golden`` writes the files anew; look at the difference
before it is committed.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from tests.conftest import Golden
from tests.golden.drawings import drawn
from tests.golden.pictures import picture
from tests.strategies import STANDARD, line
from variants.contract import Promise
from variants.music import Key, Metre, NoteValue, Pitch
from variants.pipeline import run
from variants.score import (
    Attributes,
    Barline,
    Direction,
    Event,
    Harmony,
    KeySign,
    Mark,
    Note,
    Part,
    Score,
    Voice,
    with_parts,
)
from variants.steps import (
    Family,
    FamilyInfo,
    Step,
    StepInfo,
    describe_step,
    is_family,
    list_families,
    list_steps,
    parse_item,
)

HERE = Path(__file__).parent / "steps"
_TIMES = ("before", "after")
DOCS = Path(__file__).parents[2] / "docs" / "steps.md"
PICTURES = DOCS.parent / "pictures"
_TEMPO = Direction(
    0,
    "<direction-type><metronome><beat-unit>quarter</beat-unit><per-minute>100</per-minute>"
    "</metronome></direction-type>",
    quarters_per_minute=Fraction(100),
)


def _first(score: Score, **changes: object) -> Score:
    part = score.parts[0]
    first = replace(part.measures[0], **changes)  # type: ignore[arg-type]
    return with_parts(score, [replace(part, measures=(first, *part.measures[1:]))])


def _keyed(score: Score, fifths: int, mode: str) -> Score:
    head = Attributes(0, (KeySign(Key(fifths, mode)),), Metre())
    return _first(score, attributes=(head,))


def _decorated() -> Score:
    """Return a measure with a grace note, a bend and a trill."""
    score = line("E4 G4 A4:h")
    voice = score.parts[0].measures[0].voices[0]
    first, second, third = voice.events
    grace = Event(0, 0, NoteValue("16th"), (Note(Pitch.parse("D4")),), grace=(("slash", "yes"),))
    bend = Mark("technical", "bend", "", "", "<bend><bend-alter>2</bend-alter></bend>")
    trill = Mark("ornaments", "trill-mark", "", "", "<trill-mark/>")
    events = (grace, first, replace(second, marks=(bend,)), replace(third, marks=(trill,)))
    return _first(score, voices=(Voice("1", events),))


def _repeated() -> Score:
    """Return two measures and two endings."""
    score = line("C3:h D3:h", "E3:w", "G3:w")
    part = score.parts[0]
    signs = (
        (Barline("left", 0, repeat="forward"),),
        (
            Barline("left", 0, ending=("1", "start", "")),
            Barline("right", 0, repeat="backward", ending=("1", "stop", "")),
        ),
        (
            Barline("left", 0, ending=("2", "start", "")),
            Barline("right", 0, ending=("2", "stop", "")),
        ),
    )
    measures = tuple(
        replace(measure, barlines=one) for measure, one in zip(part.measures, signs, strict=True)
    )
    return with_parts(score, [replace(part, measures=measures)])


def _two_parts() -> Score:
    upper, lower = line("E4 G4 A4:h"), line("E3:h A2:h")
    second: Part = replace(lower.parts[0], id="P2", name="Bass line")
    return with_parts(upper, [upper.parts[0], second])


def _chorded() -> Score:
    score = line("C3:w", "D3:h~ D3:h", "D3:h E3:h", "G3:w")
    symbols = (Harmony(0, ("C", 0)), Harmony(24, ("G", 0)))
    return _first(_keyed(score, 0, "major"), harmonies=symbols, directions=(_TEMPO,))


# With six frets just one octave of each key is in range, so that no fingering decides.
EXAMPLES: dict[str, tuple[str, Score]] = {
    "add-bass": ("add-bass", _chorded()),
    "all-keys": (
        "all-keys",
        _keyed(line("A2 E3 C4 E4", instrument=replace(STANDARD, frets=6)), 0, "minor"),
    ),
    "all-strings": ("all-strings", _keyed(line("E3 F3 G3 E3"), 0, "minor")),
    "capo": ("capo:fret=2", _keyed(line("E3 G3 A3 B3"), 1, "minor")),
    "capo-higher": (
        "capo:fret=2,sound=higher",
        _keyed(line("E3 G3 A3 B3"), 1, "minor"),
    ),
    "choose-part": ("choose-part:part=P2", _two_parts()),
    "drop-ornaments": ("drop-ornaments", _decorated()),
    "excerpt": (
        "excerpt:begin=1/4,end=3/3",
        line("C3 D3 E3 E3", "F3 G3 A3:h", "G3 E3 C3 A2", "B2:w"),
    ),
    "expand-repeats": ("expand-repeats", _repeated()),
    "fold-octaves": ("fold-octaves", line("E2 D2 C2 E2")),
    "invert-dyads": ("invert-dyads", line("A2+E3 C3+G3 D3+A3:h")),
    "measures": ("measures:range=3-4", _chorded()),
    "reduce-chords": ("reduce-chords:to=root", line("C3+E3+G3 A2+E3 F3+A3+C4:h")),
    "retune": ("retune:tuning=drop-d", line("D3 E2 A2 D3")),
    "scale-values": (
        "scale-values",
        _first(line("E3:e G3:e A3 B3:h"), directions=(_TEMPO,)),
    ),
    "shift-position": ("shift-position:position=5", line("E4 F4 G4 A4")),
    "simplify-rhythm": ("simplify-rhythm:grid=quarter", line("E3:e. G3:s A3:e B3 A3:e G3")),
    "single-string": ("single-string:string=5", line("D3 E3 F3 D3")),
    "slow": ("slow:percent=60", _first(line("E3 G3 A3 B3"), directions=(_TEMPO,))),
    "transpose": ("transpose:interval=M2", _keyed(line("C3 E3 G3 C4"), 0, "major")),
}


def told(name: str) -> str:
    """Return an example as text: the call, before, after, and the change log."""
    text, score = EXAMPLES[name]
    item = parse_item(text)
    head = f"-s {describe_step(item)}\n\nbefore: {picture(score)}\n\n"
    if is_family(item):
        return head + _family(item, score)
    outcome = run(score, [_as_step(item)])
    log = "\n".join(f"  {change}" for change in outcome.changes)
    return f"{head}after: {picture(outcome.score)}\n\nchange log:\n{log}\n"


def pictured(name: str) -> dict[str, Score]:
    """Return an example before and after; after a family its second member."""
    text, score = EXAMPLES[name]
    item = parse_item(text)
    steps = [_as_step(item)] if not is_family(item) else item.expand(score)[1].steps
    return {"before": score, "after": run(score, list(steps)).score}


def _as_step(item: Step | Family) -> Step:
    assert not is_family(item)
    return item  # type: ignore[return-value]


def _family(family: Family, score: Score) -> str:
    rows = [
        f"  {member.name + '.musicxml':<32}"
        f"{' -> '.join(map(describe_step, member.steps)) or '(as it is)'}"
        for member in family.expand(score)
    ]
    return "after:\n" + "\n".join(rows) + "\n"


def _entry(info: StepInfo | FamilyInfo) -> str:
    names = [name for name, (text, _) in EXAMPLES.items() if text.split(":")[0] == info.name]
    lines = [f"## `{info.name}`", "", f"{info.summary}.", ""]
    item = parse_item(info.examples[0])
    if not is_family(item):
        kept = _as_step(item).keeps
        meanings = [promise.meaning for promise in Promise if promise in kept]
        lines += [f"Keeps: {'; '.join(meanings)}.", ""]
    if info.parameters:
        lines += ["| parameter | values | what it is |", "|---|---|---|"]
        lines += [
            f"| `{key}` | {one.values.text.replace('|', ', ')} | {one.help} |"
            for key, one in info.parameters.items()
        ]
        lines.append("")
    for name in names:
        lines += ["```text", told(name).rstrip("\n"), "```", ""]
        files = [f"![{name} {when}](pictures/{name}-{when}.svg)" for when in _TIMES]
        lines += ["| before | after |", "|---|---|", f"| {' | '.join(files)} |", ""]
    if not names:
        lines += ["Before and after: [chords](steps-chords.md).", ""]
    return "\n".join(lines)


def docs() -> str:
    """Return ``docs/steps.md``."""
    head = [
        "# Steps",
        "",
        "Made by `pytest tests/golden/test_steps.py --update-golden` from the steps themselves.",
        "Each example stands as text and as it is printed, fingered by the toolkit. The text has",
        "the names of the notes as they sound, six lines of tab (string 1 on top; in brackets what",
        "is held by a tie), and the values: w whole, h half, q quarter, e eighth, s 16th; a point",
        "for a dot, 3 for a triplet. Of a family the picture shows its second member. A step that",
        "cannot be done says in one line where, why, and what to do instead.",
        "",
    ]
    entries = [*map(_entry, list_steps()), *map(_entry, list_families())]
    return "\n".join([*head, *entries]).rstrip("\n") + "\n"


@pytest.mark.parametrize("name", list(EXAMPLES))
def test_before_and_after(name: str, golden: Golden) -> None:
    """Before, after and the change log are those that were looked at."""
    golden(HERE / f"{name}.txt", told(name))


def test_docs_are_fresh(golden: Golden) -> None:
    """The page about the steps says what the steps do now."""
    golden(DOCS, docs())


@pytest.mark.parametrize("name", list(EXAMPLES))
def test_pictures(name: str, request: pytest.FixtureRequest) -> None:
    """The page's engraved measures are there; they are drawn anew with the golden files.

    They are not compared: each version of the engraver places things a little otherwise.
    """
    for when, score in pictured(name).items():
        path = PICTURES / f"{name}-{when}.svg"
        if request.config.getoption("--update-golden"):
            path.write_text(drawn(score), encoding="utf-8")
        assert path.read_text(encoding="utf-8").startswith("<svg")


def test_every_file_belongs_to_a_step() -> None:
    """No file is left over."""
    assert {path.stem for path in HERE.glob("*.txt")} == set(EXAMPLES)
