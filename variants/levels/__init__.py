"""Levels: what a pupil can read and play, how hard a piece is, and fitting a piece to a level."""

from __future__ import annotations

from variants.levels.check import Obstacle, meets
from variants.levels.covering import Coverage, Gathered, coverage, covered
from variants.levels.difficulty import Factor, factors
from variants.levels.fit import Fit, Fitter, NoFit, Progress, check_written, fit_source, judged
from variants.levels.grade import Difficulty, difficulty
from variants.levels.level import Area, Level, Limits
from variants.levels.load import LADDER, level_schema, load_ladder, load_level
from variants.levels.loss import MEANINGS, WEIGHTS, parse_weights
from variants.levels.plan import FitPlan
from variants.levels.teaching import Lesson, beyond, lessons, new_after

__all__ = [
    "LADDER",
    "MEANINGS",
    "WEIGHTS",
    "Area",
    "Coverage",
    "Difficulty",
    "Factor",
    "Fit",
    "FitPlan",
    "Fitter",
    "Gathered",
    "Lesson",
    "Level",
    "Limits",
    "NoFit",
    "Obstacle",
    "Progress",
    "beyond",
    "check_written",
    "coverage",
    "covered",
    "difficulty",
    "factors",
    "fit_source",
    "judged",
    "lessons",
    "level_schema",
    "load_ladder",
    "load_level",
    "meets",
    "new_after",
    "parse_weights",
]
