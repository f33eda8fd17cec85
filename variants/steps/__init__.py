"""The steps that make variants: one file a step, and the registry.

A step registers itself when its module is imported, so each has its line below.
"""

from variants.steps.capo import Capo
from variants.steps.choose_part import ChoosePart
from variants.steps.drop_ornaments import DropOrnaments
from variants.steps.expand_repeats import ExpandRepeats
from variants.steps.fold_octaves import FoldOctaves
from variants.steps.harmonize_chords import HarmonizeChords
from variants.steps.invert_dyads import InvertDyads
from variants.steps.measures import Measures
from variants.steps.open_strings import OpenStrings
from variants.steps.reduce_chords import ReduceChords
from variants.steps.registry import (
    Arranging,
    Moving,
    Parameter,
    Step,
    StepInfo,
    describe_step,
    list_steps,
    parameter,
    parse_step,
    register,
    step_info,
    step_name,
)
from variants.steps.retune import Retune
from variants.steps.scale_values import ScaleValues
from variants.steps.shift_position import ShiftPosition
from variants.steps.simplify_rhythm import SimplifyRhythm
from variants.steps.single_string import SingleString
from variants.steps.slow import Slow
from variants.steps.transpose import Transpose

__all__ = [
    "Arranging",
    "Capo",
    "ChoosePart",
    "DropOrnaments",
    "ExpandRepeats",
    "FoldOctaves",
    "HarmonizeChords",
    "InvertDyads",
    "Measures",
    "Moving",
    "OpenStrings",
    "Parameter",
    "ReduceChords",
    "Retune",
    "ScaleValues",
    "ShiftPosition",
    "SimplifyRhythm",
    "SingleString",
    "Slow",
    "Step",
    "StepInfo",
    "Transpose",
    "describe_step",
    "list_steps",
    "parameter",
    "parse_step",
    "register",
    "step_info",
    "step_name",
]
