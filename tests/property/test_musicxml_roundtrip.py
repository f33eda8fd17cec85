"""What is written and read again is what it was, in every layout that shows it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Any

from hypothesis import given, settings

from tests.strategies import STANDARD, scores
from tests.xsd import validate
from variants.musicxml import read_bytes, to_bytes, to_mxl
from variants.score import Event, Note, Part, Score, key_at_start, measures

Essence = tuple[Any, ...]


def essence(score: Score, *, places: bool = True, marks: bool = True) -> Essence:
    """Return what must survive, in units that do not depend on the ticks of the file."""
    return (
        score.title,
        score.work_title,
        score.movement_title,
        score.creators,
        score.rights,
        tuple(_part(part, score.ticks, places=places, marks=marks) for part in score.parts),
    )


def _part(part: Part, ticks: int, *, places: bool, marks: bool) -> Essence:
    instrument = part.instrument
    return (
        part.id,
        part.name,
        (instrument.open_strings, instrument.capo) if places and instrument else None,
        key_at_start(part),
        tuple(
            (
                view.measure.number,
                view.measure.is_implicit,
                Fraction(view.measure.length, ticks),
                view.key,
                view.metre,
                tuple((b.location, b.repeat, b.style) for b in view.measure.barlines),
                tuple(
                    (Fraction(one.onset, ticks), one.root, one.kind, one.bass)
                    for one in view.measure.harmonies
                ),
                tuple((Fraction(d.onset, ticks), d.words) for d in view.measure.directions),
                tuple(
                    (voice.id, tuple(_event(e, ticks, places, marks) for e in voice.events))
                    for voice in view.measure.voices
                    if voice.events
                ),
            )
            for view in measures(part, ticks)
        ),
    )


def _event(event: Event, ticks: int, places: bool, marks: bool) -> Essence:
    return (
        Fraction(event.onset, ticks),
        Fraction(event.duration, ticks),
        event.value,
        event.grace,
        event.is_cue,
        tuple((m.name, m.role) for m in event.marks) if marks else (),
        tuple((one.number, one.text) for one in event.lyrics) if marks else (),
        tuple(_note(note, places) for note in event.notes),
    )


def _note(note: Note, places: bool) -> Essence:
    return (
        note.pitch,
        note.tie_stop,
        note.tie_start,
        (note.place, note.finger) if places else (),
    )


@given(scores())
@settings(max_examples=60)
def test_a_score_comes_back_as_it_was(score: Score) -> None:
    """Nothing that the model holds is lost when a score keeps its own staves."""
    again = read_bytes(to_bytes(score), reading="concert")
    assert essence(again, places=False) == essence(score, places=False)


@given(scores(microtones=False))
@settings(max_examples=60)
def test_notation_and_tab_come_back_as_one(score: Score) -> None:
    """Two staves are read as one music: pitches, ties, places, fingers, tuning, capo, octave."""
    again = read_bytes(to_bytes(score, staves="both"))
    assert essence(again) == essence(_with_instruments(score))


@given(scores(voices=1, parts=1, microtones=False, instruments=(STANDARD,), in_range=True))
@settings(max_examples=40)
def test_each_staff_alone_tells_the_music(score: Score) -> None:
    """Notation alone and tab alone sound the same, ukuleles and basses at their own octave."""
    for staves in ("notation", "tab"):
        again = read_bytes(to_bytes(score, staves=staves, places=True))
        assert essence(again, places=staves == "tab", marks=False) == essence(
            score, places=staves == "tab", marks=False
        )


@given(scores(voices=1, parts=1, microtones=False))
@settings(max_examples=40)
def test_notation_alone_says_its_octave(score: Score) -> None:
    """Whatever the instrument, its notation is read back at the octave that it sounds."""
    again = read_bytes(to_bytes(score, staves="notation"))
    if score.parts[0].instrument is not None:
        assert essence(again, places=False) == essence(score, places=False)


@given(scores(symbols=False))
@settings(max_examples=40)
def test_every_layout_is_valid_and_the_same_each_time(score: Score) -> None:
    """Each file is valid against the W3C schema, and writing twice gives the same bytes."""
    for staves in ("source", "notation", "tab", "both"):
        data = to_bytes(score, staves=staves)
        assert validate(data) == []
        assert to_bytes(score, staves=staves) == data
    assert to_mxl(score) == to_mxl(score)


@given(scores())
@settings(max_examples=40)
def test_a_second_pass_changes_nothing(score: Score) -> None:
    """What was read once and written is read as the very same value."""
    once = read_bytes(to_bytes(score, staves="both"))
    twice = read_bytes(to_bytes(once))
    assert twice.parts == once.parts


def _with_instruments(score: Score) -> Score:
    """Return the score as its file tells it: a part named for a guitar is for one."""
    return replace(
        score,
        parts=tuple(
            part
            if part.instrument or "Guitar" not in part.name
            else replace(part, instrument=STANDARD)
            for part in score.parts
        ),
    )
