"""The steps that make variants: one file a step, and the registry.

A step registers itself when its module is imported, so each has its line below.
"""

from variants.steps.all_keys import AllKeys
from variants.steps.all_strings import AllStrings
from variants.steps.capo import Capo
from variants.steps.choose_part import ChoosePart
from variants.steps.drop_ornaments import DropOrnaments
from variants.steps.expand_repeats import ExpandRepeats
from variants.steps.fold_octaves import FoldOctaves
from variants.steps.framework.registry import (
    Arranging,
    Family,
    FamilyInfo,
    Member,
    Moving,
    Parameter,
    Step,
    StepInfo,
    describe_step,
    is_family,
    list_families,
    list_steps,
    parameter,
    parse_item,
    parse_step,
    register,
    register_family,
    step_info,
    step_name,
)
from variants.steps.harmonize_chords import HarmonizeChords
from variants.steps.invert_dyads import InvertDyads
from variants.steps.measures import Measures
from variants.steps.open_strings import OpenStrings
from variants.steps.reduce_chords import ReduceChords
from variants.steps.retune import Retune
from variants.steps.revoice import Revoice
from variants.steps.scale_values import ScaleValues
from variants.steps.shift_position import ShiftPosition
from variants.steps.simplify_rhythm import SimplifyRhythm
from variants.steps.single_string import SingleString
from variants.steps.slow import Slow
from variants.steps.strum import Strum
from variants.steps.transpose import Transpose

__all__ = [
    "AllKeys",
    "AllStrings",
    "Arranging",
    "Capo",
    "ChoosePart",
    "DropOrnaments",
    "ExpandRepeats",
    "Family",
    "FamilyInfo",
    "FoldOctaves",
    "HarmonizeChords",
    "InvertDyads",
    "Measures",
    "Member",
    "Moving",
    "OpenStrings",
    "Parameter",
    "ReduceChords",
    "Retune",
    "Revoice",
    "ScaleValues",
    "ShiftPosition",
    "SimplifyRhythm",
    "SingleString",
    "Slow",
    "Step",
    "StepInfo",
    "Strum",
    "Transpose",
    "describe_step",
    "is_family",
    "list_families",
    "list_steps",
    "parameter",
    "parse_item",
    "parse_step",
    "register",
    "register_family",
    "step_info",
    "step_name",
]
