"""What a piece is: key, range, chords, note values, and where it can be played on the neck."""

from __future__ import annotations

from variants.survey.facts import PartFacts, describe_part
from variants.survey.hands import positions_text, positions_used
from variants.survey.heard import HeardKey, heard_key
from variants.survey.neck import NeckFacts, PositionFit, StringFit, neck_facts
from variants.survey.pitches import PitchFacts, pitch_facts, written_interval
from variants.survey.rhythm import RhythmFacts, rhythm_facts

__all__ = [
    "HeardKey",
    "NeckFacts",
    "PartFacts",
    "PitchFacts",
    "PositionFit",
    "RhythmFacts",
    "StringFit",
    "describe_part",
    "heard_key",
    "neck_facts",
    "pitch_facts",
    "positions_text",
    "positions_used",
    "rhythm_facts",
    "written_interval",
]
