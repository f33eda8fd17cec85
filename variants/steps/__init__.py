"""The steps that make variants: one file a step, and the registry."""

from variants.steps.registry import (
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

__all__ = [
    "Moving",
    "Parameter",
    "Step",
    "StepInfo",
    "describe_step",
    "list_steps",
    "parameter",
    "parse_step",
    "register",
    "step_info",
    "step_name",
]
