"""All that `neckwise describe` says of one part."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from variants.music import Key, Metre
from variants.score import Instrument, MeasureView, Part, Score, key_at_start, measures, notes
from variants.survey.neck import NeckFacts, neck_facts
from variants.survey.pitches import PitchFacts, pitch_facts
from variants.survey.rhythm import RhythmFacts, rhythm_facts


@dataclass(frozen=True, slots=True)
class PartFacts:
    """What one part of a score is.

    Args:
        id: Part id.
        name: Its name.
        instrument: The fretted instrument; ``None`` if it is for none.
        layout: ``notation``, ``tab``, ``both`` in the source; empty if it is not fretted.
        measures: Number of measures.
        pickup_beats: Beats of the pick-up, 0 for none.
        key: The first key signature; ``None`` if there is none.
        keys: (measure number, key) of every change after it.
        metres: (measure number, metre), the first one included.
        tempi: (measure number, quarters in a minute) of every tempo that is given.
        repeats: Number of repeat signs at the end of a passage.
        endings: Numbers of the endings (``1``, ``2``) in order.
        voices: Most voices in a measure.
        chord_symbols: Number of chord symbols.
        verses: Number of verses of lyrics.
        placed: Notes that have a place on the neck.
        fingered: Notes that have a fretting finger.
        pitches: Range, dyads, chords.
        rhythm: Values, off-beats, ties, tuplets.
        neck: Where it fits; ``None`` without an instrument.
    """

    id: str
    name: str
    instrument: Instrument | None
    layout: str
    measures: int
    pickup_beats: Fraction
    key: Key | None
    keys: tuple[tuple[str, Key], ...]
    metres: tuple[tuple[str, Metre], ...]
    tempi: tuple[tuple[str, Fraction], ...]
    repeats: int
    endings: tuple[str, ...]
    voices: int
    chord_symbols: int
    verses: int
    placed: int
    fingered: int
    pitches: PitchFacts
    rhythm: RhythmFacts
    neck: NeckFacts | None


def describe_part(score: Score, part: Part) -> PartFacts:
    """Return what a part of a score is."""
    views = measures(part, score.ticks)
    every = [note for note in notes(part) if not note.tie_stop]
    return PartFacts(
        id=part.id,
        name=part.name,
        instrument=part.instrument,
        layout=part.layout,
        measures=len(views),
        pickup_beats=_pickup(views),
        key=key_at_start(part),
        keys=_key_changes(part),
        metres=_metres(views),
        tempi=_tempi(views),
        repeats=sum(one.repeat == "backward" for v in views for one in v.measure.barlines),
        endings=_endings(views),
        voices=max((len(view.measure.voices) for view in views), default=0),
        chord_symbols=sum(len(view.measure.harmonies) for view in views),
        verses=len(_verses(views)),
        placed=sum(note.place is not None for note in every),
        fingered=sum(bool(note.finger) for note in every),
        pitches=pitch_facts(part),
        rhythm=rhythm_facts(score, part),
        neck=neck_facts(part),
    )


def _pickup(views: tuple[MeasureView, ...]) -> Fraction:
    if not views or not views[0].is_pickup:
        return Fraction(0)
    first = views[0]
    return first.metre.beat_at(first.metre.quarters) - first.beat(0)


def _key_changes(part: Part) -> tuple[tuple[str, Key], ...]:
    found: list[tuple[str, Key]] = []
    for measure in part.measures:
        for change in measure.attributes:
            for sign in change.keys[:1]:
                if sign.key is not None and (not found or found[-1][1] != sign.key):
                    found.append((measure.number, sign.key))
    return tuple(found[1:])


def _metres(views: tuple[MeasureView, ...]) -> tuple[tuple[str, Metre], ...]:
    found: list[tuple[str, Metre]] = []
    for view in views:
        if not found or found[-1][1] != view.metre:
            found.append((view.measure.number, view.metre))
    return tuple(found)


def _tempi(views: tuple[MeasureView, ...]) -> tuple[tuple[str, Fraction], ...]:
    found: list[tuple[str, Fraction]] = []
    for view in views:
        for direction in view.measure.directions:
            tempo = direction.quarters_per_minute
            if tempo and (not found or found[-1][1] != tempo):
                found.append((view.measure.number, tempo))
    return tuple(found)


def _endings(views: tuple[MeasureView, ...]) -> tuple[str, ...]:
    found: dict[str, None] = {}
    for view in views:
        for one in view.measure.barlines:
            if one.ending is not None:
                found.setdefault(one.ending[0], None)
    return tuple(found)


def _verses(views: tuple[MeasureView, ...]) -> set[str]:
    return {
        lyric.number for view in views for event in view.measure.events for lyric in event.lyrics
    }
