"""Other tunings on small scores."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.strategies import STANDARD, line, tokens
from tests.unit.steps.test_capo import on_neck, places
from variants.errors import Refusal, UsageError
from variants.pipeline import run
from variants.steps import parse_step
from variants.steps.retune import Retune


def test_same_sound() -> None:
    """No pitch changes; the sixth string is D2 and the places are to be found anew."""
    done = run(on_neck(line("E2 A2 D3 G3")), [Retune()])
    assert tokens(done.score) == "E2 A2 D3 G3"
    instrument = done.score.parts[0].instrument
    assert instrument is not None
    assert (instrument.tuning, instrument.open_midi[5]) == ("drop-d", 38)
    assert places(done.score) == ["None"] * 4
    assert "string 6 from E2 to D2" in done.changes[0].message


def test_same_shapes() -> None:
    """Half a step down every note sounds a semitone lower at the same places."""
    before = on_neck(line("E2 A2 D3 G3"))
    done = run(before, [Retune(tuning="half-step-down", sound="shapes")])
    assert tokens(done.score) == "D#2 G#2 C#3 F#3"
    assert places(done.score) == places(before)


def test_a_capo_stays() -> None:
    """Retuning leaves the capo where it is."""
    done = run(line("F#2 B2", instrument=replace(STANDARD, capo=2)), [Retune()])
    instrument = done.score.parts[0].instrument
    assert instrument is not None
    assert instrument.capo == 2


def test_refusals() -> None:
    """What would play another tune, or lies on no string, is refused with a way out."""
    with pytest.raises(Refusal, match=r"drop-d does not move all strings alike.*use sound=same"):
        run(line("E2"), [Retune(sound="shapes")])
    with pytest.raises(Refusal, match="ukulele is for 4 strings, and the instrument has 6"):
        run(line("E2"), [Retune(tuning="ukulele", sound="shapes")])
    with pytest.raises(Refusal, match=r"measure 1, beat 1: E2 lies below all .* in ukulele"):
        run(line("E2"), [Retune(tuning="ukulele")])


def test_wrong_tuning() -> None:
    """A tuning that nobody knows is a wrong call."""
    with pytest.raises(UsageError, match="no tuning is called 'dropp-d'; did you mean drop-d"):
        parse_step("retune:tuning=dropp-d")
