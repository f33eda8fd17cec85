"""The step protocol, the registry of steps, and the text that a step is written as.

A step is written ``name`` or ``name:key=value,key=value``; `parse_step` reads that text and
`describe_step` writes it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, fields
from functools import cache
from typing import Any, Protocol, TypeGuard, TypeVar, runtime_checkable

from variants.contract import Promise
from variants.errors import UsageError
from variants.music import Interval
from variants.score import Score
from variants.steps.framework.reading import ParameterValues

_METADATA = "neckwise"


class Step(Protocol):
    """A function from score to score that declares what it keeps.

    A step is a frozen, keyword-only dataclass from `Checked` whose fields are made with
    `parameter`. One that promises `Promise.SHIFTED_PITCH_CLASSES` is a `Moving` step too.
    """

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises."""
        ...

    def __call__(self, score: Score, /) -> Score:
        """Return the changed score, with a line in its change log for every loss.

        Raises:
            Refusal: The step cannot be applied to this score.
        """
        ...


class Moving(Protocol):
    """What a step that promises `Promise.SHIFTED_PITCH_CLASSES` has as well."""

    def interval_for(self, score: Score, /) -> Interval:
        """Return the one interval by which the step moves every note of this score."""
        ...


@runtime_checkable
class Arranging(Protocol):
    """What a step has as well that takes measures away or writes them again.

    Its promises speak of the measures that it leaves, each against the one that it comes from.
    """

    def order_for(self, score: Score, /) -> tuple[int, ...] | None:
        """Return for each measure of the result the index of its source; ``None``: all as were."""
        ...


@dataclass(frozen=True, slots=True)
class Parameter:
    """What the registry knows of one parameter of a step.

    Args:
        help: What it is for, in a few words.
        values: What it may be.
        default: What it is unless it is given; always allowed.
    """

    help: str
    values: ParameterValues
    default: object

    def check(self, value: object, *, name: str) -> None:
        """Check a value that Python gave.

        Raises:
            UsageError: The parameter cannot have it.
        """
        if value != self.default:
            self.values.check(value, name=name)


class Checked:
    """What a step or family is made from: its parameters are checked when it is made.

    What several of them must be together is checked in `check_together`.
    """

    __slots__ = ()

    def __post_init__(self) -> None:
        """Check every parameter.

        Raises:
            UsageError: One of them cannot have its value.
        """
        made: Any = type(self)
        for name, known in _parameters(made).items():
            field_name = name.replace("-", "_")
            known.check(getattr(self, field_name), name=field_name)
        self.check_together()

    def check_together(self) -> None:
        """Check what the parameters must be together; nothing unless a step says so."""


@dataclass(frozen=True, slots=True)
class StepInfo:
    """A registered step.

    Args:
        name: The name that it is written with.
        summary: One line: what it does.
        make: The class of the step.
        parameters: Its parameters by written name, in order.
        examples: Texts that can be run as they are; each shows another use.
    """

    name: str
    summary: str
    make: Callable[..., Step]
    parameters: Mapping[str, Parameter]
    examples: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Member:
    """One variant of a family.

    Args:
        name: Name of its file, without ending.
        title: What it is, in words.
        steps: The steps that make it.
    """

    name: str
    title: str
    steps: tuple[Step, ...]


class Family(Protocol):
    """What makes several variants at once, such as one for each key."""

    def expand(self, score: Score, /) -> tuple[Member, ...]:
        """Return the variants for a score.

        Raises:
            Refusal: There is none for this score.
        """
        ...


@dataclass(frozen=True, slots=True)
class FamilyInfo:
    """A registered family; see `StepInfo`."""

    name: str
    summary: str
    make: Callable[..., Family]
    parameters: Mapping[str, Parameter]
    examples: tuple[str, ...]


StepType = TypeVar("StepType", bound=type)
_STEPS: dict[str, StepInfo] = {}
_FAMILIES: dict[str, FamilyInfo] = {}


def parameter(default: object, help_text: str, values: ParameterValues) -> Any:  # noqa: ANN401
    """Return a dataclass field that is a parameter of a step: default, help and values, once.

    A field that is made otherwise is for Python only.
    """
    metadata = {_METADATA: Parameter(help_text, values, default)}
    return field(default=default, metadata=metadata)


def register(name: str, *, examples: tuple[str, ...] = ()) -> Callable[[StepType], StepType]:
    """Register a step under a name; the first line of its docstring is its summary.

    Args:
        name: How the step is written.
        examples: The step as written, in ways that can be run; the tests run them all.
    """

    def enter(cls: StepType) -> StepType:
        _STEPS[name] = StepInfo(name, _summary(cls), cls, _parameters(cls), examples or (name,))
        return cls

    return enter


def register_family(name: str, *, examples: tuple[str, ...] = ()) -> Callable[[StepType], StepType]:
    """Register a family of variants under a name; see `register`."""

    def enter(cls: StepType) -> StepType:
        _FAMILIES[name] = FamilyInfo(
            name, _summary(cls), cls, _parameters(cls), examples or (name,)
        )
        return cls

    return enter


def _summary(cls: type) -> str:
    return (cls.__doc__ or "").strip().split("\n")[0].removesuffix(".")


@cache
def _parameters(cls: Any) -> dict[str, Parameter]:  # noqa: ANN401 - any dataclass
    return {
        one.name.replace("_", "-"): one.metadata[_METADATA]
        for one in fields(cls)
        if _METADATA in one.metadata
    }


def list_families() -> tuple[FamilyInfo, ...]:
    """Return every registered family, by name."""
    return tuple(_FAMILIES[name] for name in sorted(_FAMILIES))


def list_steps() -> tuple[StepInfo, ...]:
    """Return every registered step, by name."""
    return tuple(_STEPS[name] for name in sorted(_STEPS))


def step_info(name: str) -> StepInfo:
    """Return the registered step of that name.

    Raises:
        UsageError: There is none; the message suggests one and lists all.
    """
    found = _STEPS.get(name)
    if name in _FAMILIES:
        raise UsageError(
            f"{name} makes several variants, not one",
            way_out=f"write them into a folder: neckwise vary FILE -s {name} -o FOLDER",
        )
    if found is None:
        known = {**_STEPS, **_FAMILIES}
        raise UsageError(
            f"there is no step {name!r}",
            way_out=f"{_suggestion(name, known)}the steps are {', '.join(sorted(known))}",
        )
    return found


def step_name(step: Step) -> str:
    """Return the name of a step: the registered one, else that of its class."""
    for info in _STEPS.values():
        if info.make is type(step):
            return info.name
    return getattr(step, "__name__", type(step).__name__)


def parse_step(text: str) -> Step:
    """Return the step that a text describes.

    Raises:
        UsageError: Unknown step or parameter, or a value that it cannot have.
    """
    name, _, rest = text.strip().partition(":")
    info = step_info(name.strip())
    return info.make(**_values(rest, info))


def parse_item(text: str) -> Step | Family:
    """Return the step, or the family of variants, that a text describes.

    Raises:
        UsageError: Unknown name or parameter, or a value that it cannot have.
    """
    name, _, rest = text.strip().partition(":")
    info = _FAMILIES.get(name.strip())
    return parse_step(text) if info is None else info.make(**_values(rest, info))


def is_family(item: Step | Family) -> TypeGuard[Family]:
    """Whether an item makes several variants."""
    return any(info.make is type(item) for info in _FAMILIES.values())


def _values(text: str, info: StepInfo | FamilyInfo) -> dict[str, object]:
    values: dict[str, object] = {}
    for key, value in _assignments(text, info.name):
        written = key.replace("_", "-")
        known = info.parameters.get(written)
        if known is None:
            raise _unknown_parameter(key, info)
        field_name = written.replace("-", "_")
        if field_name in values:
            raise UsageError(f"{info.name}: {written} is given twice", way_out="give it once")
        values[field_name] = _read(known, value, f"{info.name}: {written}")
    return values


def _assignments(text: str, name: str) -> list[tuple[str, str]]:
    """Split ``a=1,b=2``; a comma that no ``key=`` follows belongs to the value before it."""
    found: list[tuple[str, str]] = []
    for piece in text.split(",") if text.strip() else []:
        key, equals, value = piece.partition("=")
        if equals:
            found.append((key.strip(), value.strip()))
        elif found:
            found[-1] = (found[-1][0], f"{found[-1][1]},{piece}")
        else:
            raise UsageError(
                f"{name}: {piece!r} is no parameter", way_out=f"write {name}:key=value,key=value"
            )
    return found


def _read(known: Parameter, value: str, where: str) -> object:
    takes = f"it takes {known.values.text}"
    try:
        return known.values.read(value)
    except UsageError as error:
        way_out = error.way_out or takes
        raise UsageError(f"{where}: {error.cause}", way_out=way_out) from error
    except ValueError as error:
        raise UsageError(f"{where} cannot be {value!r}", way_out=takes) from error


def _unknown_parameter(key: str, info: StepInfo | FamilyInfo) -> UsageError:
    if not info.parameters:
        return UsageError(f"{info.name} has no parameters", way_out=f"write {info.name} alone")
    return UsageError(
        f"{info.name} has no parameter {key!r}",
        way_out=f"{_suggestion(key, info.parameters)}it takes {', '.join(info.parameters)}",
    )


def _suggestion(text: str, known: Mapping[str, object]) -> str:
    from difflib import get_close_matches  # only a mistake needs it

    found = get_close_matches(text, known, n=1)
    return f"did you mean {found[0]}? " if found else ""


def describe_step(step: Step | Family) -> str:
    """Return the text that `parse_step` (or `parse_item`) reads as this step.

    Only what differs from the defaults is written.
    """
    everything: list[StepInfo | FamilyInfo] = [*_STEPS.values(), *_FAMILIES.values()]
    made: object = type(step)
    info = next((one for one in everything if one.make is made), None)
    if info is None:
        return str(step)
    written = [
        f"{key}={known.values.show(value)}"
        for key, known in info.parameters.items()
        if (value := getattr(step, key.replace("-", "_"))) != known.default
    ]
    return f"{info.name}:{','.join(written)}" if written else info.name
