"""The measures of a part in the order in which a step puts them, as contracts compare them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from variants.music.pitch import Alteration
from variants.score.model import Measure, Part
from variants.score.survey import Flaw, Moments, PartSurvey, Sounds


def arranged(survey: PartSurvey, order: Sequence[int]) -> PartSurvey:
    """Return the survey of a part whose measures are played in another order.

    A note that was held into a measure and follows nothing that is tied to it any more is struck
    there. The part itself stays the one that was surveyed.

    Args:
        survey: Survey of the part.
        order: For each measure of the result the index of the measure that it comes from.
    """
    part = survey.part
    moments: list[Moments] = []
    sounds: list[Sounds] = []
    for place, index in enumerate(order):
        before = order[place - 1] if place else -1
        here, there = survey.moments[index], survey.sounds[index]
        if index and before != index - 1:
            left = part.measures[before] if place else None
            struck = _struck(part.measures[index], left)
            if struck:
                here = {(0, 0): [*here.get((0, 0), []), *struck], **_but_first(here)}
                again: Sounds = {(0, 0): [(height, 0, None) for height in struck]}
                there = {**again, **there, (0, 0): [*again[0, 0], *there.get((0, 0), [])]}
        moments.append(here)
        sounds.append(there)
    return replace(
        survey,
        lengths=tuple(survey.lengths[index] for index in order),
        moments=tuple(moments),
        sounds=tuple(sounds),
        loose_ties=_flaws(survey.loose_ties, order),
        misplaced=_flaws(survey.misplaced, order),
        shared_strings=_flaws(survey.shared_strings, order),
        overfull=_flaws(survey.overfull, order),
    )


def restruck(part: Part, order: Sequence[int]) -> frozenset[int]:
    """Return the measures of the result at whose start a note is struck that was held before."""
    found = set()
    for place, index in enumerate(order):
        before = order[place - 1] if place else -1
        if index and before != index - 1:
            left = part.measures[before] if place else None
            if _struck(part.measures[index], left):
                found.add(place)
    return frozenset(found)


def _struck(measure: Measure, before: Measure | None) -> list[Alteration]:
    """Return the heights that are held into a measure from elsewhere than ``before``."""
    tied = [
        note.pitch.semitones
        for voice in (before.voices if before else ())
        for event in voice.events
        if before and event.end == before.length
        for note in event.notes
        if note.pitch is not None and note.tie_start
    ]
    found: list[Alteration] = []
    for event in measure.events:
        if event.onset or event.is_cue or event.grace is not None:
            continue
        for note in event.notes:
            if note.pitch is None or not note.tie_stop:
                continue
            if note.pitch.semitones in tied:
                tied.remove(note.pitch.semitones)
            else:
                found.append(note.pitch.semitones)
    return found


def _but_first(moments: Moments) -> Moments:
    return {moment: heights for moment, heights in moments.items() if moment != (0, 0)}


def _flaws(flaws: tuple[Flaw, ...], order: Sequence[int]) -> tuple[Flaw, ...]:
    return tuple(
        (place, tick, text)
        for place, index in enumerate(order)
        for measure, tick, text in flaws
        if measure == index
    )
