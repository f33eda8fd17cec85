"""Running steps: order, proof, change log, and what the whole promises."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar

import pytest

from tests.strategies import line, tokens
from variants.contract import Promise
from variants.errors import ContractBroken, Refusal, UsageError
from variants.music import Interval
from variants.pipeline import Pipeline, parse_pipeline, run
from variants.score import Change, Score, map_notes, with_changes, with_parts
from variants.steps.invert_dyads import InvertDyads
from variants.steps.reduce_chords import ReduceChords
from variants.steps.transpose import Transpose

SOURCE = line("E2+B2 G2+D3 A2+E3:h")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Liar:
    """Promises everything and raises every note by a letter."""

    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.PITCH_CLASSES})

    def __call__(self, score: Score) -> Score:
        def up(note: object) -> object:
            return replace(note, pitch=note.pitch + Interval(1, 2))  # type: ignore[type-var,attr-defined]

        return with_parts(score, [map_notes(part, up) for part in score.parts])  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Refuser:
    """Refuses everything."""

    keeps: ClassVar[frozenset[Promise]] = frozenset()

    def __call__(self, score: Score) -> Score:
        raise Refusal("no", place=score.title, way_out="leave it out")


def test_steps_run_in_order() -> None:
    """The second step sees what the first one made."""
    texts = ["transpose:interval=P4", "reduce-chords:to=top"]
    assert tokens(run(SOURCE, parse_pipeline(texts).steps).score) == "E3 G3 A3"


def test_outcome_tells_everything() -> None:
    """Score, steps, kept promises, new change lines and the interval in all."""
    logged = with_changes(SOURCE, [Change("assumed a guitar", "read")])
    steps = (Transpose(interval=Interval.parse("m3")), Transpose(interval=Interval.parse("-P4")))
    done = run(logged, steps)
    assert done.steps == steps
    assert done.kept == {
        Promise.SHIFTED_PITCH_CLASSES,
        Promise.ONSETS,
        Promise.DURATIONS,
        Promise.MEASURE_LENGTHS,
    }
    assert done.interval == Interval.parse("-M2")
    assert {change.step for change in done.changes} == {"transpose"}
    assert done.score.changes == (*logged.changes, *done.changes)


def test_no_steps_keep_everything() -> None:
    """Nothing done, nothing changed, everything kept."""
    done = run(SOURCE, [])
    assert done.score is SOURCE
    assert done.interval is None
    assert Promise.SOUNDING_PITCHES in done.kept
    assert done.changes == ()


def test_broken_contract_stops_the_run() -> None:
    """A step that breaks its word is named, with the place; nothing comes out."""
    with pytest.raises(ContractBroken, match=r"^measure 1, beat 1: _Liar breaks its contract"):
        run(SOURCE, [ReduceChords(to="root"), _Liar(), ReduceChords(to="root")])


def test_refusal_passes_through() -> None:
    """A refusal is the step's own."""
    with pytest.raises(Refusal, match=r"^Exercise: no; leave it out$"):
        run(SOURCE, [_Refuser()])


def test_pipeline_is_a_step() -> None:
    """A pipeline inside a pipeline does the same as its steps in a row."""
    inner = Pipeline((Transpose(interval=Interval.parse("P4")), InvertDyads()))
    nested = run(SOURCE, [inner, ReduceChords(to="top")])
    flat = run(SOURCE, [*inner.steps, ReduceChords(to="top")])
    assert nested.score == flat.score
    assert nested.interval == flat.interval == Interval.parse("P4")
    assert inner.keeps == {
        Promise.SHIFTED_PITCH_CLASSES,
        Promise.ONSETS,
        Promise.DURATIONS,
        Promise.MEASURE_LENGTHS,
    }
    assert inner(SOURCE) == run(SOURCE, inner.steps).score


def test_parse_pipeline_names_what_is_wrong() -> None:
    """One wrong step makes the whole call wrong."""
    with pytest.raises(UsageError, match="there is no step 'transpoze'; did you mean transpose"):
        parse_pipeline(["reduce-chords:to=top", "transpoze:interval=m3"])


def test_text_of_a_pipeline() -> None:
    """A pipeline is printed as its steps are written."""
    texts = ["transpose:interval=m3", "invert-dyads:root=top"]
    assert str(parse_pipeline(texts)) == " -> ".join(texts)


def test_places_that_a_step_takes_away_are_told() -> None:
    """After `shift-position` a `transpose` erases places and says so; a note that goes does not."""
    steps = parse_pipeline(["shift-position:position=5", "transpose:interval=M2"]).steps
    lines = [str(one) for one in run(line("A3 C4 E4 A4"), steps).changes]
    assert "string and fret of 4 notes no longer hold" in lines[-1]
    steps = parse_pipeline(["shift-position:position=5", "reduce-chords:to=top"]).steps
    lines = [str(one) for one in run(line("A3+C4 E4 A4:h"), steps).changes]
    assert not any("no longer hold" in one for one in lines)


def test_a_held_note_that_is_dropped_before_a_cut() -> None:
    """What a range of measures would strike anew may be gone by then: that is no broken promise."""
    score = line("C3+E3:w~", "C3+E3:h D3:h")
    steps = parse_pipeline(["reduce-chords:to=top", "measures:range=2"]).steps
    assert tokens(run(score, steps).score) == "E3 D3"


def test_after_a_step_that_moves_onsets_a_cut_is_proven_alone() -> None:
    """An onset may have moved into the range: each step is proven, the row promises nothing."""
    score = line("C3:h. E3:e. F3:s~", "F3:h G3:h")
    steps = parse_pipeline(["simplify-rhythm:keep=strong", "measures:range=2"]).steps
    done = run(score, steps)
    assert done.kept == frozenset()
    assert done.order is None
    assert run(score, [Pipeline(steps)]).score == done.score
