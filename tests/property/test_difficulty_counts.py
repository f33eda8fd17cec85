"""Each factor of difficulty is 0 where there is none of its thing, and else what the file counts.

The counts are those of `tests.oracles.counted_hardness` and `tests.oracles.counted_time`, from the
written file and without the package.
"""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings

from tests.oracles.counted_hardness import Counts, counted_hardness, hardness_counts
from tests.oracles.counted_time import counted_time
from tests.strategies import INSTRUMENTS, line, scores
from tests.unit.levels.made import placed
from variants.levels import Factor, factors
from variants.levels.difficulty import FACTORS
from variants.musicxml import read, to_bytes
from variants.score import Score
from variants.variant import Wishes, make_variant

SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.musicxml"))
PARTS = {"two-boats-duet": "P1"}
# What the hand does is 0 without fingers; how much it does is a measurement in mm and seconds.
OF_FINGERS = ("stretch", "travel", "shift speed", "barres", "fingers")
# Their reason begins with the amount.
COUNTED = ("notes", "range", "accidentals", "key", "off-beats", "ties", "tuplets", "barres",
           "fingers", "crossings", "length", "new measures")  # fmt: skip
_NUMBER = re.compile(r"(\d+) ")


def check_amounts(score: Score) -> dict[str, Factor]:
    """Hold every factor of the first part against the counts of the file."""
    data = to_bytes(score)
    counts = counted_hardness(data)
    table = {one.name: one for one in factors(score, score.parts[0])}
    assert set(table) == {one[1] for one in FACTORS}
    # The staff that a player reads has the clef of the instrument.
    shown = dict(hardness_counts(counted_hardness(to_bytes(score, staves="notation"))))
    for name, amount in hardness_counts(counts):
        wanted = shown[name] if name == "ledger lines" else amount
        assert table[name].amount == wanted, name
    for one in table.values():
        assert (one.value > 0) == (one.amount > 0), one.name
        assert one.amount or not one.measure, one.name
        told = _NUMBER.match(one.reason)
        if told and one.name in {*COUNTED}:
            assert int(told[1]) == one.amount, one
    if not any(head.finger in {"1", "2", "3", "4"} for head in counts.heads):
        assert [table[name].amount for name in OF_FINGERS] == [0] * len(OF_FINGERS)
    _check_time(table, counts, data)
    _check_chords(table, counts)
    return table


def _check_time(table: dict[str, Factor], counts: Counts, data: bytes) -> None:
    off = {(one.measure, one.onset) for one in counted_time(data)[1] if one.into}
    struck = {(measure, onset) for measure, onset, timed in counts.struck if timed}
    found = len(off & struck)
    # One that is held over a beat counts twice.
    assert found <= table["off-beats"].amount <= 2 * found
    missing, _ = counted_time(data)
    rates = [
        sum(key[0] == index for key in counts.struck) / (float(length) * 60 / counts.tempo)
        for index, length in enumerate(counts.lengths)
        if length and (index or not missing)
    ]
    assert table["density"].amount == pytest.approx(max(rates, default=0.0), abs=1e-4)
    if not counts.values:
        assert table["values"].amount == 0
    else:
        named = table["values"].reason.removeprefix("the hardest value is ").split(" ")
        assert any(kind in named for kind, _ in counts.values)
        assert ("dotted" in named) <= any(dots for _, dots in counts.values)


def _check_chords(table: dict[str, Factor], counts: Counts) -> None:
    starts = [sum(counts.lengths[:index], Fraction(0)) for index in range(len(counts.lengths))]
    chords = [
        (starts[measure] + onset, sorted(head.name for head in heads))
        for (measure, onset, timed), heads in sorted(counts.struck.items())
        if timed and len(heads) > 1
    ]
    gaps = [float(b[0] - a[0]) * 60 / counts.tempo for a, b in pairwise(chords) if a[1] != b[1]]
    wanted = min(1.0, 0.25 / min(gaps)) if gaps else 0.0
    assert table["chord change"].amount == pytest.approx(wanted, abs=1e-4)
    if all(len(names) < 3 for _, names in chords):
        assert table["chord ease"].amount == 0


@settings(max_examples=60)
@given(scores(parts=1, unpitched=False, microtones=False, instruments=INSTRUMENTS))
def test_amounts_of_drawn_scores(score: Score) -> None:
    """Pick-ups, tuplets, ties, grace and cue notes, several voices, with and without places."""
    check_amounts(score)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_amounts_of_fingered_samples(path: Path) -> None:
    """The same of each sample with fingers."""
    score = make_variant(read(path), (), Wishes(part=PARTS.get(path.stem, ""))).score
    table = check_amounts(score)
    assert table["notes"].amount > 0


NONE = {
    "tuplets": "E4 F4 G4 A4", "ties": "E4 F4 G4 A4", "off-beats": "E4 F4 G4:h",
    "accidentals": "E4 F4 G4 A4", "key": "E4 F4 G4 A4", "ledger lines": "E4 F4 G4 E4",
    "at once": "E4 F4 G4 A4", "range": "E4 E4 E4 E4", "chord change": "C4+E4 C4+E4 C4+E4 r",
    "chord ease": "C4+E4 E4 F4 G4", "crossings": "E4 F4 G4 A4", "strings apart": "E4 F4 G4 A4",
    "barres": "E4 F4 G4 A4", "fingers": "E4 F4 G4 A4", "stretch": "E4 F4 G4 A4",
    "travel": "E4 F4 G4 A4", "shift speed": "E4 F4 G4 A4", "density": "r:w", "values": "r:w",
    "notes": "r:w", "new measures": "r:w",
}  # fmt: skip


@pytest.mark.parametrize(("name", "music"), NONE.items())
def test_none_of_it_is_nothing(name: str, music: str) -> None:
    """0, no place, and a value of 0 where the thing is not there."""
    one = check_amounts(line(music))[name]
    assert (one.amount, one.value, one.measure) == (0, 0, "")


SOME = {
    "off-beats": (("E4:e F4:q G4:e A4:h", 3), ("E4:q. F4:e G4:h", 1), ("E4:e F4:h. r:e", 2)),
    "ties": (("E4:w~ | E4:w", 1), ("C4+E4:w~ | C4+E4:w", 1)),
    "values": (("E4:w", 0.1), ("E4:h. r", 0.2), ("E4:q. r:e r:h", 0.5), ("E4:s r:s r:e r:h.", 0.7)),
}


@pytest.mark.parametrize(
    ("name", "music", "amount"),
    [(name, music, amount) for name, cases in SOME.items() for music, amount in cases],
)
def test_amounts_that_are_told_by_hand(name: str, music: str, amount: float) -> None:
    """Held over a beat counts twice; a tied chord is one tie; values as `_VALUES` has them."""
    assert check_amounts(line(*music.split(" | ")))[name].amount == amount


def test_a_shift_in_mm_and_seconds() -> None:
    """Fret 1 to 5 on a 650 mm scale is 126.5 mm (650 / 2^(n/12)), in one second at 120."""
    way = 650 * (2 ** (-1 / 12) - 2 ** (-5 / 12))
    table = check_amounts(placed("F4:h A4:h", "1:1/1", "1:5/1"))
    assert table["travel"].amount == pytest.approx(way, abs=0.1)
    assert table["shift speed"].amount == pytest.approx(way, abs=0.1)
