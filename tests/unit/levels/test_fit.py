"""Fit: the least loss of all pipelines of small cases, checked on what is written."""

from __future__ import annotations

from itertools import pairwise, product

import pytest

from tests.strategies import line, tokens
from tests.unit.levels.made import level, placed
from variants.levels import Fit, Fitter, Level, NoFit, check_written, load_ladder, load_level
from variants.levels.areas import bits_of, choices
from variants.levels.ladders import comes_and_goes, musical
from variants.levels.loss import (
    WEIGHTS,
    folding_losses,
    kept,
    key_loss,
    register_loss,
    total,
    window_losses,
)
from variants.levels.place import Placed
from variants.levels.workshop import Chain, Workshop
from variants.score import Score
from variants.variant import Wishes

ONE_STRING = level(
    [{"strings": [1, 2], "one-string": True, "frets": [0, 12]}],
    notes_at_once=1,
    note_values=("quarter", "half", "whole"),
    off_beats="none",
    signature=1,
)
FIRST_POSITION = level(
    [{"strings": [1, 2, 3], "frets": [0, 3]}],
    notes_at_once=2,
    note_values=("eighth", "quarter", "half", "whole"),
    off_beats="paired",
    signature=0,
)
CASES = {
    "low": ("E3 G3 B3 E4",),
    "wide": ("E3 C4 G4 C5", "D4:h G3:h"),
    "eighths": ("E4:e F4:e G4 A4:h", "B4:w"),
    "syncopation": ("E4:e G4:q A4:e B4:h", "D4:q. E4:e G4:h"),
    "dyads": ("E4+G4 F4+A4 G4:h", "C4+E4:w"),
}


def _pool(found: Level, workshop: Workshop) -> list[list[str]]:
    """Return the steps of each stage, the empty text being none, without help of the search."""
    instrument = workshop.source.parts[0].instrument
    assert instrument is not None
    folds = {
        f"fold-octaves:move=phrases,lowest={_name(one.lowest)},highest={_name(one.highest)}"
        for one in choices(found, instrument, 0)
        if one.highest - one.lowest >= 11
    }
    grids = [f"simplify-rhythm:grid={grid}" for grid in ("eighth", "quarter", "half")]
    return [
        ["", *(f"reduce-chords:to={to}" for to in ("dyad", "top", "root", "bottom")),
         "reduce-chords:to=dyad,other=third"],
        ["", "scale-values", "scale-values:factor=1/2"],
        ["", *grids[:2], *(f"{one},keep=strong" for one in grids)],
        ["", *(f"transpose:semitones={n}" for n in (-24, *range(-12, 13), 24) if n)],
        ["", *sorted(folds)],
        ["", *(f"capo:fret={n}" for n in range(1, 8))],
    ]  # fmt: skip


def _name(midi: int) -> str:
    from variants.music import Key
    from variants.music.key import spelled

    return str(spelled(midi, Key(0)))


def _loss(workshop: Workshop, chain: Chain) -> float:
    """Return the loss of a chain, worked out from its stages."""
    rhythm = tuple(one for one in chain if one.split(":")[0] in
                   {"reduce-chords", "scale-values", "simplify-rhythm"})  # fmt: skip
    before, after = workshop.profile(rhythm), workshop.profile(chain)
    losses = window_losses(kept(workshop.root.profile, before), workshop.totals)
    moved = next((int(one.split("=")[1]) for one in chain if one.startswith("transpose")), 0)
    losses |= {"key": key_loss(moved), "register": register_loss(abs(moved)), "tempo": 0.0}
    losses["values"] = float(any(one.startswith("scale") for one in chain))
    losses["capo"] = float(any(one.startswith("capo") for one in chain))
    if any(one.startswith("fold") for one in chain):
        broken, losses["register"] = folding_losses(before, after, moved)
        losses["melody"] += (1 - losses["melody"]) * broken
    return total(losses, WEIGHTS)


def _best_of_all(score: Score, found: Level) -> float | None:
    """Return the least loss of all pipelines of up to three steps that meet a level."""
    fitter = Fitter(score, Wishes())
    workshop = fitter.workshop
    instrument = workshop.source.parts[0].instrument
    assert instrument is not None
    chains = [tuple(filter(None, one)) for one in product(*_pool(found, workshop))]
    losses = [(_loss(workshop, chain), chain) for chain in chains
              if len(chain) <= 3 and not isinstance(workshop.score(chain), str)]  # fmt: skip
    for loss, chain in sorted(losses):
        profile = workshop.profile(chain)
        if workshop.tune_lost(chain):
            continue
        if not all(one.fits(found) for one in profile.measures):
            continue
        if any(abs(one.fifths) > getattr(found.limits.signature, "value", 7)
               for one in profile.measures):  # fmt: skip
            continue
        capo = next((int(one.split("=")[1]) for one in chain if one.startswith("capo")), 0)
        bits = bits_of(profile.heights)
        fitting = tuple(one for one in choices(found, instrument, capo) if not bits & ~one.midi)
        placed_here = workshop.place(chain, found, fitting) if fitting else None
        if isinstance(placed_here, Placed) and not check_written(placed_here.score, found):
            return loss
    return None


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(CASES))
@pytest.mark.parametrize("wanted", [ONE_STRING, FIRST_POSITION], ids=["one-string", "first"])
def test_no_pipeline_of_three_steps_loses_less(name: str, wanted: Level) -> None:
    """The plan found loses no more than the best of all pipelines of up to three steps."""
    score = line(*CASES[name])
    best = _best_of_all(score, wanted)
    found = Fitter(score, Wishes()).fits(wanted)
    if isinstance(found, NoFit):
        assert best is None
        return
    musical = [one for one in found[0].plan.steps if not one.startswith(("single", "shift"))]
    if best is None:
        assert len(musical) > 3
        return
    assert found[0].plan.total <= best + 1e-9
    if len(musical) <= 3:
        assert found[0].plan.total == pytest.approx(best)


@pytest.mark.parametrize("name", sorted(CASES))
def test_fit_meets_and_loss_is_monotone(name: str) -> None:
    """Each rung's file meets its level when read back; a stricter level never loses less.

    Nor does a kind of change turn up that the easier level did without.
    """
    score = line(*CASES[name])
    fits = Fitter(score, Wishes()).ladder(load_ladder())
    done = [one for one in fits if isinstance(one, Fit)]
    assert len(done) == 6
    assert not any(check_written(one.variant.score, one.level) for one in done)
    for before, after in pairwise(done):
        # No harder than the next: what meets a level meets the one above it as well.
        assert not check_written(before.variant.score, after.level)
    losses = [musical(one.plan, WEIGHTS) for one in done]
    assert losses == sorted(losses, reverse=True)
    assert not comes_and_goes([one.plan for one in done])


def test_doubled_values_are_no_loss_of_rhythm() -> None:
    """A measure in eighths written in quarters keeps every onset; only the values are others."""
    workshop = Fitter(line("E4:e F4:e G4 A4:h"), Wishes()).workshop
    doubled = workshop.node(("scale-values",), 2)
    assert doubled is not None
    assert not any(window_losses(doubled.keeps, workshop.totals).values())


def test_what_meets_a_level_stays_as_it_is() -> None:
    """A piece that meets a level keeps its notes, and its places where it has them."""
    score = placed("E4 G4 E4 r | C4:h D4:h", "1:0", "1:3/3", "1:0", "2:1/1", "2:3/3")
    found = Fitter(score, Wishes()).fits(load_level("level-1"))
    assert not isinstance(found, NoFit)
    assert found[0].plan.steps == ()
    assert found[0].plan.total == 0
    assert tokens(found[0].variant.score) == tokens(score)
    notes = [n for m in found[0].variant.score.parts[0].measures for v in m.voices
             for e in v.events for n in e.notes]  # fmt: skip
    assert [f"{n.place.string}:{n.place.fret}" for n in notes if n.place] == [
        *("1:0", "1:3", "1:0", "2:1", "2:3")
    ]


def test_three_best_are_different_and_in_order() -> None:
    """The best three are three pipelines, the least loss first."""
    found = Fitter(line("E3 G3 B3 E4"), Wishes()).fits(load_level("level-1"), most=3)
    assert not isinstance(found, NoFit)
    assert len({one.plan.steps for one in found}) == 3
    totals = [one.plan.total for one in found]
    assert totals == sorted(totals)


def test_no_fit_names_the_limit() -> None:
    """Where nothing fits, the nearest plan and the limit that blocks it are told."""
    nowhere = level([{"strings": [1], "frets": [0, 2]}])
    found = Fitter(line("E4 A4 C5 E5"), Wishes()).fits(nowhere)
    assert isinstance(found, NoFit)
    assert found.nearest is not None
    assert found.nearest.blocked[0][0] == "areas"
    assert "nothing meets made" in found.sentence()


def test_no_note_is_folded_within_a_phrase() -> None:
    """One note out of range: the piece gets a capo or another key before its phrase is broken."""
    score = line(*["G3 B3 D4 G4"] * 5, "G3 B3 Bb4 G4")
    wanted = level([{"strings": [1, 2, 3, 4, 5, 6], "frets": [0, 3]}])
    stays = {**WEIGHTS, "register": 5.0}
    found = Fitter(score, Wishes(reading="concert"), weights=stays).fits(wanted)
    assert not isinstance(found, NoFit)
    assert not any(step.startswith("fold-octaves") for step in found[0].plan.steps)
    assert found[0].plan.losses["capo"] == 1


def test_weights_choose_the_plan() -> None:
    """Who does not mind another key gets one rather than a capo, and the other way round."""
    score = line("F#3 A3 C#4 F#4")
    wanted = level([{"strings": [1], "frets": [0, 12]}])
    heavy = {**WEIGHTS, "key": 50.0, "register": 0.0}
    found = Fitter(score, Wishes(), weights=heavy).fits(wanted)
    assert not isinstance(found, NoFit)
    assert found[0].plan.losses["key"] == 0
    free = {**WEIGHTS, "key": 0.0, "register": 1.0, "capo": 50.0}
    found = Fitter(score, Wishes(), weights=free).fits(wanted)
    assert not isinstance(found, NoFit)
    assert found[0].plan.losses["capo"] == 0
