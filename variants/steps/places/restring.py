"""What `capo` and `retune` share: another instrument under the same sound or the same shapes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from variants.contract import TIMES, Promise
from variants.music import UNISON, Interval
from variants.score import (
    Change,
    Instrument,
    Measure,
    Note,
    Part,
    Score,
    map_notes,
    timeline,
    with_notes,
    without_places,
)
from variants.steps.framework.log import count, scribe
from variants.steps.lines.takes import fold_hint, fretted_parts, instrument_at
from variants.steps.moves.moving import move_part
from variants.steps.wording.words import moved_words

SAME_SOUND = "same"


def kept(sound: str) -> frozenset[Promise]:
    """Return what restringing promises, which depends on whether the sound stays."""
    same = sound == SAME_SOUND
    return TIMES | {Promise.SOUNDING_PITCHES if same else Promise.SHIFTED_PITCH_CLASSES}


def sounds_words(interval: Interval) -> str:
    """Return where the sound goes with the same shapes, for a headline."""
    return f"sounds {moved_words(interval)}" if interval != UNISON else "sounds as before"


def restrung(
    score: Score,
    interval: Interval,
    change: Callable[[Part], tuple[Part, list[Change]]],
    *,
    step: str,
) -> tuple[list[Part], list[Change]]:
    """Return the parts with their strings changed, those without strings moved along.

    Args:
        score: The score.
        interval: By how much everything sounds otherwise.
        change: Changes the strings of a fretted part.
        step: Name of the step.
    """
    fretted = set(fretted_parts(score))
    parts: list[Part] = []
    changes: list[Change] = []
    for index, source in enumerate(score.parts):
        part, lines = source, list[Change]()
        if index in fretted:
            part, lines = change(source)
        elif interval != UNISON:
            part, lines = move_part(source, interval, step=step)
        parts.append(part)
        changes += lines
    return parts, changes


def with_instrument_changed(part: Part, change: Callable[[Instrument], Instrument]) -> Part:
    """Return the part with its instrument changed, wherever the part names one."""
    if part.instrument is None:
        return part

    def of_measure(measure: Measure) -> Measure:
        if not any(one.instrument for one in measure.attributes):
            return measure
        attributes = tuple(
            replace(one, instrument=change(one.instrument)) if one.instrument else one
            for one in measure.attributes
        )
        return replace(measure, attributes=attributes)

    return replace(
        part,
        instrument=change(part.instrument),
        measures=tuple(map(of_measure, part.measures)),
    )


def other_shapes(part: Part, *, step: str) -> tuple[Part, list[Change]]:
    """Return the part without places, fingers and chord diagrams, which no longer fit."""
    frames = sum(1 for measure in part.measures for one in measure.harmonies if one.frame)
    bare = _frames(map_notes(part, without_places), [])
    text = f"{count(frames, 'chord diagram')} dropped: the shapes are others now"
    return bare, [Change(text, step, part=part.id)] if frames else []


def same_shapes(part: Part, interval: Interval, *, step: str) -> tuple[Part, list[Change]]:
    """Return the part moved by an interval with its places, fingers and diagrams as they were."""
    frames = [one.frame for measure in part.measures for one in measure.harmonies]
    moved, lines = move_part(_frames(part, []), interval, step=step)
    measures = tuple(
        _shaped(old, new) for old, new in zip(part.measures, moved.measures, strict=True)
    )
    return _frames(replace(moved, measures=measures), frames), lines


def _shaped(old: Measure, new: Measure) -> Measure:
    voices = tuple(
        replace(
            moved,
            events=tuple(
                with_notes(event, tuple(map(_placed_as, was.notes, event.notes)))
                for was, event in zip(voice.events, moved.events, strict=True)
            ),
        )
        for voice, moved in zip(old.voices, new.voices, strict=True)
    )
    return replace(new, voices=voices)


def _placed_as(old: Note, new: Note) -> Note:
    return replace(new, place=old.place, finger=old.finger)


def _frames(part: Part, frames: list[str]) -> Part:
    """Return the part with these chord diagrams in order; with none if there are none."""
    left = iter(frames)
    measures = tuple(
        replace(
            measure,
            harmonies=tuple(replace(one, frame=next(left, "")) for one in measure.harmonies),
        )
        if measure.harmonies
        else measure
        for measure in part.measures
    )
    return replace(part, measures=measures)


def check_reach(score: Score, part: Part, *, step: str, what: str) -> tuple[Part, list[Change]]:
    """Return the part without places past the end of the neck, and how many went.

    Args:
        score: The score, for the place.
        part: The part, restrung.
        step: Name of the step.
        what: What the strings are now, for the message: ``with the capo at fret 5``.

    Raises:
        Refusal: A note lies on no string any more.
    """
    log = scribe(step, score, part)
    instrument_of = instrument_at(part)
    for key, event in timeline(part).by_key.items():
        instrument = instrument_of(log.views[key[0]].start + event.onset)
        for note in event.notes:
            if note.pitch is not None and not instrument.places(note.pitch.midi):
                below = note.pitch.midi < instrument.lowest
                raise log.refusal(
                    key[0],
                    event.onset,
                    f"{note.pitch} lies {'below' if below else 'above'} all that can be played"
                    f" {what}",
                    way_out=f"{fold_hint(instrument.lowest, instrument.highest)}choose another",
                )

    gone: list[Note] = []

    def on_the_neck(note: Note) -> Note:
        place = note.place
        if place is None or part.instrument is None or part.instrument.sounding(place) is not None:
            return note
        gone.append(note)
        return without_places(note)

    done = map_notes(part, on_the_neck)
    text = f"{count(len(gone), 'place')} past the last fret {what}: found anew elsewhere"
    return done, [log.overall(text)] if gone else []
