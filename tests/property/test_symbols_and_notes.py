"""A chord symbol goes where its note goes, whatever the step; else the log says what became of it.

The notes that begin are counted here, without the library's views: ordinals, not times, tell which
note is which.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.strategies import line, scores
from variants.errors import Refusal
from variants.musicxml import read
from variants.score import Harmony, Part, Score
from variants.steps import Step, list_steps, parse_step

SAMPLES = sorted(Path("samples").glob("*.musicxml"))
STEPS = tuple(dict.fromkeys(text for info in list_steps() for text in info.examples))
# These write the notes or the symbols themselves; what they write is theirs to prove.
NEW = {"strum", "harmonize-chords"}


def begins(part: Part, index: int) -> list[int]:
    """Return the ticks of a measure at which a note begins, without grace and cue notes."""
    return sorted(
        {
            event.onset
            for voice in part.measures[index].voices
            for event in voice.events
            if event.grace is None and not event.is_cue
            if any(not note.tie_stop for note in event.notes)
        }
    )


def standing(part: Part, order: tuple[int, ...]) -> list[tuple[Harmony, str, int | None]]:
    """Return each chord symbol, its measure, and the ordinal of the note that begins with it."""
    found: list[tuple[Harmony, str, int | None]] = []
    before = 0
    for index in order:
        ticks = begins(part, index)
        found += [
            (one, part.measures[index].number, before + ticks.index(one.onset))
            if one.onset in ticks
            else (one, part.measures[index].number, None)
            for one in sorted(part.measures[index].harmonies, key=lambda one: one.onset)
        ]
        before += len(ticks)
    return found


def number_of_notes(part: Part, order: tuple[int, ...]) -> int:
    """Return at how many moments of some measures something begins."""
    return sum(len(begins(part, index)) for index in order)


def without_carried(now: Part, part: Part, order: tuple[int, ...]) -> Part:
    """Leave out the symbol in force that a measure begins with which is played out of its place."""
    measures = []
    for measure, index in zip(now.measures, order, strict=True):
        own = {one.onset for one in part.measures[index].harmonies}
        kept = tuple(one for one in measure.harmonies if one.onset in own)
        measures.append(replace(measure, harmonies=kept))
    return replace(now, measures=tuple(measures))


def check_symbols(step: Step, score: Score) -> None:
    """Check the law for one step and score."""
    result = step(score)
    arrange = getattr(step, "order_for", None)
    count = len(score.parts[0].measures) if score.parts else 0
    order = arrange(score) if arrange else tuple(range(count))
    log = result.changes[len(score.changes) :]
    chosen = {part.id: part for part in result.parts}
    for part in score.parts:
        if part.id not in chosen:
            continue
        now = chosen[part.id]
        if not arrange and len(now.measures) < len(part.measures):
            continue  # an excerpt: symbols go with their measures, and the log names those
        everything = tuple(range(len(now.measures)))
        if arrange:
            now = without_carried(now, part, order)
        old, new = standing(part, order), standing(now, everything)
        told = {change.measure for change in log if change.part in {part.id, ""}}
        said = any("symbol" in change.message or "written once" in change.message for change in log)
        if len(old) != len(new):
            assert said, f"{len(old)} chord symbols, then {len(new)}, and the log is silent"
            continue
        same_notes = number_of_notes(part, order) == number_of_notes(now, everything)
        for (_, number, was), (_, _, here) in zip(old, new, strict=True):
            stays = (was is None) == (here is None) and (not same_notes or was == here)
            # Where notes have gone, the line about the note is about its symbol too.
            excused = said or (not same_notes and not told.isdisjoint({number, ""}))
            assert stays or was is None or excused, (
                f"the chord symbol of measure {number} has lost its note, and the log is silent"
            )


@cache
def sample(name: str) -> Score:
    """Return a sample, read once."""
    return read(Path(name))


PUSHED = (
    ("C4:q. D4:e E4:q. F4:e~", "F4:q. G4:e~ G4 r:e C4:e~", "C4:w"),
    ("r:e E4:q. F4:q. G4:e", "G4:h r:e A4:q."),
)


def pushed(number: int) -> Score:
    """Return a pushed melody with a symbol on each of its notes (invented)."""
    score = line(*PUSHED[number])
    part = score.parts[0]
    measures = []
    for index, measure in enumerate(part.measures):
        names = zip(begins(part, index), "CGFDACGF", strict=False)
        symbols = tuple(Harmony(tick, (name, 0)) for tick, name in names)
        measures.append(replace(measure, harmonies=symbols))
    return replace(score, parts=(replace(part, measures=tuple(measures)),))


@pytest.mark.parametrize("text", STEPS)
def test_over_all_steps(text: str) -> None:
    """The samples and two pushed melodies, through each way to write each step."""
    if text.partition(":")[0] in NEW:
        pytest.skip("it writes notes or symbols itself")
    step = parse_step(text)
    done = 0
    for score in (*(sample(str(path)) for path in SAMPLES), pushed(0), pushed(1)):
        try:
            check_symbols(step, score)
        except Refusal:
            continue
        done += 1
    assert done, "every score is refused"


@settings(max_examples=40)
@given(scores(parts=1, symbols=True), st.sampled_from(STEPS))
def test_over_drawn_scores(score: Score, text: str) -> None:
    """The same for drawn scores with symbols at any moment."""
    if text.partition(":")[0] in NEW:
        return
    try:
        check_symbols(parse_step(text), score)
    except Refusal:
        return


def test_the_symbol_of_a_push_goes_over_the_barline() -> None:
    """A pushed F goes to the downbeat that it anticipates, and its symbol with it."""
    result = parse_step("simplify-rhythm")(pushed(0))
    first, second, third = result.parts[0].measures
    assert [(one.onset, one.root) for one in first.harmonies] == [
        (0, ("C", 0)), (result.ticks, ("G", 0)), (2 * result.ticks, ("F", 0)),
    ]  # fmt: skip
    assert (0, ("D", 0)) in [(one.onset, one.root) for one in second.harmonies]
    assert [one.onset for one in third.harmonies] == [0]
