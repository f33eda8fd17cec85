"""The steps that make variants: one file a step, and the registry.

A step registers itself when its module is imported, and every module here is: a new file is a new
step.
"""

from importlib import import_module
from pkgutil import iter_modules

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
    parse_item,
    parse_step,
    step_info,
    step_name,
)

__all__ = [
    "Arranging",
    "Family",
    "FamilyInfo",
    "Member",
    "Moving",
    "Parameter",
    "Step",
    "StepInfo",
    "describe_step",
    "is_family",
    "list_families",
    "list_steps",
    "parse_item",
    "parse_step",
    "step_info",
    "step_name",
]

for _module in iter_modules(__path__):
    if not _module.ispkg:
        import_module(f"{__name__}.{_module.name}")
