"""Marks that a player reads beside the notes: put on, known again, and taken off."""

from __future__ import annotations

from variants.marks.counting import count_part
from variants.marks.fingers import claimed
from variants.marks.marking import Choice, Marking, MarkKind
from variants.marks.positions import mark_positions
from variants.marks.registry import (
    FINGERING,
    MARKS,
    POSITIONS,
    USUAL,
    apply_marks,
    parse_marks,
    remove_marks,
)
from variants.marks.strokes import Stroke, strokes_of

__all__ = [
    "FINGERING",
    "MARKS",
    "POSITIONS",
    "USUAL",
    "Choice",
    "MarkKind",
    "Marking",
    "Stroke",
    "apply_marks",
    "claimed",
    "count_part",
    "mark_positions",
    "parse_marks",
    "remove_marks",
    "strokes_of",
]
