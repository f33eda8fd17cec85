"""The guitar and its relatives: tunings, the neck in millimetres, hands and grips."""

from __future__ import annotations

from variants.guitar.hand import parse_hand
from variants.guitar.instrument import (
    BUILDS,
    BodyBuild,
    check_place,
    instrument_for,
    neck_fret,
    neck_of,
)
from variants.guitar.neck import (
    DOUBLE_MARKED_FRETS,
    MARKED_FRETS,
    SCALE_LENGTHS_MM,
    STRING_SPACINGS,
    Neck,
    StringSpacing,
    fret_difference,
    fret_mm,
    interval_table,
    marked_frets,
    span_mm,
)
from variants.guitar.tuning import (
    STANDARD,
    TUNINGS,
    Tuning,
    named_tuning,
    parse_tuning,
    tuning_names,
)

__all__ = [
    "BUILDS",
    "DOUBLE_MARKED_FRETS",
    "MARKED_FRETS",
    "SCALE_LENGTHS_MM",
    "STANDARD",
    "STRING_SPACINGS",
    "TUNINGS",
    "BodyBuild",
    "Neck",
    "StringSpacing",
    "Tuning",
    "check_place",
    "fret_difference",
    "fret_mm",
    "instrument_for",
    "interval_table",
    "marked_frets",
    "named_tuning",
    "neck_fret",
    "neck_of",
    "parse_hand",
    "parse_tuning",
    "span_mm",
    "tuning_names",
]
