"""What steps carry stays whole: spans, words, chord diagrams, signs of one string, playback.

Every step of the registry runs on two scores that are full of such things (`tests.rich`); what is
written is looked at in its XML, without the library, and by the proofreader.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import cache
from itertools import cycle

import pytest
from lxml import etree

from tests.rich import jumping_links, rich, stale_frames, unbalanced, words_sung
from tests.xsd import validate
from variants.contract import Promise
from variants.errors import Refusal
from variants.finish import finish
from variants.musicxml import read_bytes, to_bytes
from variants.pipeline import parse_pipeline, run
from variants.proof import Severity, proofread_bytes
from variants.score import Score, map_notes, with_parts
from variants.score.instrument import Place
from variants.steps import list_steps
from variants.steps.places.jumps import without_jumps

# Every way to write a step that the registry knows, and some that it does not show.
STEPS = tuple(
    dict.fromkeys(
        (
            *(text for info in list_steps() for text in info.examples),
            "transpose:interval=M2",
            "transpose:key=A major,octave=fit",
            "measures:range=2-5",
            "shift-position:position=7",
            "simplify-rhythm:grid=eighth",
            "single-string:string=2,fret=0",
            "slow:percent=70",
        )
    )
)
CASES = [(step, chords) for step in ("", *STEPS) for chords in (False, True)]


@cache
def outcome(step: str, chords: bool) -> tuple[Score, bytes, bytes]:
    """Return the finished score and how it is written as its source stood and with tab."""
    score = read_bytes(rich(chords=chords))
    try:
        made = run(score, parse_pipeline([step] if step else []).steps).score
    except Refusal:
        pytest.skip("the step refuses chords, as its own tests say")
    done = finish(made).score
    return done, to_bytes(done), to_bytes(done, staves="both")


def errors(data: bytes) -> set[str]:
    """Return what the proofreader calls errors."""
    found = proofread_bytes(data).findings
    return {
        f"{one.rule} in measure {one.measure}" for one in found if one.severity is Severity.ERROR
    }


@pytest.mark.parametrize("chords", [False, True])
def test_the_sources_are_whole(chords: bool) -> None:
    """The scores are valid, their spans balanced, their diagrams right: faults are of the steps."""
    data = rich(chords=chords)
    assert validate(data) == unbalanced(data) == stale_frames(data) == []
    assert len(words_sung(data)) == 11


@pytest.mark.parametrize(("step", "chords"), CASES)
def test_spans_end_and_diagrams_sound(step: str, chords: bool) -> None:
    """Slurs, ties, wedges and the like have both ends; a diagram sounds the chord beside it."""
    _, plain, both = outcome(step, chords)
    for data in (plain, both):
        assert validate(data) == []
        assert unbalanced(data) == []
        assert stale_frames(data) == []
    assert jumping_links(both) == []
    assert errors(both) == set()


@pytest.mark.parametrize(("step", "chords"), CASES)
def test_no_syllable_is_lost_in_silence(step: str, chords: bool) -> None:
    """Each syllable is still sung, in order, or the log speaks of it; repeats sing them again."""
    done, plain, _ = outcome(step, chords)
    before, after = words_sung(rich(chords=chords)), words_sung(plain)
    told = " ".join(map(str, done.changes))
    if step.startswith("measures"):
        assert after in [before[at : at + len(after)] for at in range(len(before))]
    elif step != "expand-repeats":
        assert [one for one in before if one in after] == after
        assert after == before or "syllable" in told or "is sung" in told


def _keeps_onsets(step: str) -> bool:
    # Steps that write measures again or leave some out keep the onsets of those that they leave.
    arranges = step.startswith(("measures", "expand-repeats"))
    return not step or (not arranges and Promise.ONSETS in parse_pipeline([step]).keeps)


@pytest.mark.parametrize(("step", "chords"), [one for one in CASES if _keeps_onsets(one[0])])
def test_syllables_stay_on_their_notes(step: str, chords: bool) -> None:
    """A step that keeps the onsets keeps each syllable at its moment."""
    _, plain, _ = outcome(step, chords)
    assert _moments(plain) == _moments(rich(chords=chords))


def _moments(data: bytes) -> list[tuple[int, Fraction, str]]:
    found = []
    divisions = 1
    for index, measure in enumerate(etree.fromstring(data).iter("measure")):
        now = last = Fraction(0)
        for child in measure:
            divisions = int(child.findtext("divisions") or divisions)
            length = Fraction(child.findtext("duration") or "0") / divisions
            if child.tag == "note":
                last = last if child.find("chord") is not None else now
                text = child.findtext("lyric/text")
                if text:
                    found.append((index, last, text))
                now = last + length if child.find("grace") is None else now
            elif child.tag in ("forward", "backup"):
                now += length if child.tag == "forward" else -length
    return found


@pytest.mark.parametrize(
    ("step", "rates"),
    [
        ("", {96, 72}),
        ("transpose:interval=M2", {96, 72}),
        # 70 of 100 of 96 and 72, in whole beats as metronomes have them.
        ("slow:percent=70", {67, 50}),
        # Twice as long, with the tempo that makes it sound as fast: 96 becomes 192 quarters.
        ("scale-values", {192, 144}),
        ("scale-values:factor=1/2", {48, 36}),
        ("simplify-rhythm:grid=eighth", {96, 72}),
    ],
)
def test_playback_follows(step: str, rates: set[int]) -> None:
    """The tempo that programs play is the one that is printed, moved with the music."""
    _, plain, _ = outcome(step, False)
    root = etree.fromstring(plain)
    assert {Fraction(str(one.get("tempo"))) for one in root.iterfind(".//sound[@tempo]")} == rates
    units = {"quarter": Fraction(1), "half": Fraction(2), "eighth": Fraction(1, 2)}
    for direction in root.iter("direction"):
        printed, sound = direction.find(".//metronome"), direction.find("sound")
        if printed is not None and sound is not None:
            rate = Fraction(printed.findtext("per-minute") or "0")
            unit = units[printed.findtext("beat-unit") or ""]
            assert rate * unit == Fraction(str(sound.get("tempo")))


def test_a_jumping_sign_is_dropped_with_a_line() -> None:
    """A hammer-on whose notes are placed on two strings goes, and the log names the strings."""
    score = read_bytes(rich(chords=False))
    turns = cycle((1, 2))
    part = map_notes(score.parts[0], lambda note: replace(note, place=Place(next(turns), 0)))
    done = without_jumps(with_parts(score, [part]), step="finger")
    lines = [str(line) for line in done.changes]
    assert "measure 2, beat 1: a hammer-on was dropped: its notes are on strings 1 and 2" in lines
    assert jumping_links(to_bytes(done, staves="both")) == []
