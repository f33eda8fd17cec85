"""Scores of the widest domain: all of them are engraved and heard, note for note."""

from __future__ import annotations

import io
from fractions import Fraction

import mido
from hypothesis import given, settings

from tests.strategies import scores
from tests.unit.sheets.pages import note_groups
from variants.score import Score, onsets
from variants.score.playing import playing
from variants.sheets import engrave, sounds, to_midi


def _heads(score: Score) -> set[str]:
    return {
        f"n{part}.{index}.{v}.{e}.{n}"
        for part, one in enumerate(score.parts)
        for index, measure in enumerate(one.measures)
        for v, voice in enumerate(measure.voices)
        for e, event in enumerate(voice.events)
        for n, _ in enumerate(event.notes)
    }


@given(score=scores())
@settings(max_examples=30)
def test_every_head_is_drawn(score: Score) -> None:
    """Every note of any score has one head on paper, and every measure is on one line."""
    engraving = engrave(score)
    found: set[str] = set()
    for system in engraving.systems:
        names = {name for name in note_groups(system.svg) if name.startswith("n")}
        assert not found & names
        found |= names
    assert found == _heads(score)
    assert [one.first for one in engraving.systems[1:]] == [
        one.last + 1 for one in engraving.systems[:-1]
    ]


@given(score=scores())
def test_every_onset_is_heard(score: Score) -> None:
    """Without repeats, a part sounds at its onsets; the file has one track a part beside one."""
    file = mido.MidiFile(file=io.BytesIO(to_midi(score, repeats=False)))
    assert len(file.tracks) == len(score.parts) + 1
    for part in score.parts:
        starts, now = [], 0
        for measure in part.measures:
            starts.append(now)
            now += measure.length
        wanted = {
            (Fraction(starts[one.measure] + one.tick, score.ticks), round(height))
            for one in onsets(part)
            if not one.grace
            for height in one.semitones
        }
        heard = {(one.start, one.midi) for one in sounds(score, part, repeats=False)}
        assert wanted <= heard


@given(score=scores())
def test_every_measure_is_played(score: Score) -> None:
    """The order of playing begins at the start, ends at the end, and leaves no measure out."""
    order = playing(score).order
    count = max(len(part.measures) for part in score.parts)
    assert set(order) == set(range(count))
    assert order[0] == 0
    assert order[-1] == count - 1
