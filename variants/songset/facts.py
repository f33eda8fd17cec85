"""What a report says of one variant: key, range, difficulty, lessons, and each measure."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from variants.guitar import parse_hand
from variants.levels.difficulty import factors_of
from variants.levels.grade import difficulty
from variants.levels.teaching import lessons_of
from variants.levels.written import written_part
from variants.score import Event, Note, Score, key_at_start
from variants.songset.digest import key_of
from variants.steps import describe_step
from variants.survey import positions_text
from variants.survey.pitches import pitch_facts
from variants.variant import Variant

# Digits that tell apart the few states of one measure that two builds can have.
_DIGITS = 12


def facts_of(variant: Variant, *, hand: str, level: str, title: str) -> dict[str, Any]:
    """Return what the report says of a variant, as JSON values.

    Args:
        variant: The variant.
        hand: The hand for which difficulty is measured, as `parse_hand` reads it.
        level: The level that it was fitted to; empty for none.
        title: What people call it.
    """
    score = variant.score
    part = next((one for one in score.parts if one.instrument is not None), score.parts[0])
    written = written_part(score, part)
    found = factors_of(written, hand=parse_hand(hand))
    hard = difficulty(found)
    pitches = pitch_facts(part)
    key = key_at_start(part)
    positions = [
        text
        for _, places in sorted(variant.hands.items())
        if (text := positions_text([one.hand for one in places]))
    ]
    return {
        "title": title,
        "song": score.title,
        "level": level,
        "steps": [describe_step(step) for step in variant.steps],
        "key-signature": str(key) if key is not None else "",
        "range": [str(pitches.lowest or ""), str(pitches.highest or "")],
        "positions": "; ".join(positions),
        "strings": [part.instrument.strings, part.instrument.top_fret]
        if part.instrument
        else [6, 22],
        "kept": sorted(promise.value for promise in variant.kept),
        "changes": [
            [change.measure, change.beat, change.step, change.message] for change in variant.changes
        ],
        "difficulty": {"overall": hard.overall, "areas": hard.areas},
        "factors": [[one.group, one.name, one.value, one.measure, one.reason] for one in found],
        "lessons": [
            [one.kind, list(one.key), one.text, list(one.measures[:1]), one.count]
            for one in lessons_of(written)
        ],
        "measures": list(_measures(score)),
    }


def _measures(score: Score) -> Iterator[list[str]]:
    """Yield for each measure of each part its number, a hash of its music, and its fingering."""
    for part in score.parts:
        mark = f"{part.id}:" if len(score.parts) > 1 else ""
        for measure in part.measures:
            music = [
                [voice.id, [_music(event) for event in voice.events]] for voice in measure.voices
            ]
            hand = " ".join(filter(None, map(_hand, measure.events)))
            yield [f"{mark}{measure.number}", key_of([score.ticks, music])[:_DIGITS], hand]


def _music(event: Event) -> list[Any]:
    notes = [[str(note.pitch), note.tie_start, note.tie_stop] for note in event.notes]
    return [event.onset, event.duration, event.grace is not None, notes]


def _hand(event: Event) -> str:
    """Return how the notes of an event are played: ``5.3(2)+4.5(4)`` for string, fret, finger."""
    return "+".join(_place(note) for note in event.notes if note.place is not None)


def _place(note: Note) -> str:
    if note.place is None:
        return ""
    finger = f"({note.finger})" if note.finger else ""
    return f"{note.place.string}.{note.place.fret}{finger}"
