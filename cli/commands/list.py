"""`neckwise list`: what can be asked for."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from .. import options
from ..recipes import recipe_list
from ..text import fields, show, show_json, table, wrapped
from .proof import rule_list

if TYPE_CHECKING:
    from variants.guitar import Tuning
    from variants.marks import MarkKind
    from variants.steps import FamilyInfo, Step, StepInfo


# A row of choices that is longer may not fit a line of the terminal beside its name.
_LONGEST_ROW = 48


class Thing(StrEnum):
    """What can be listed."""

    steps = "steps"
    marks = "marks"
    tunings = "tunings"
    rules = "rules"
    recipes = "recipes"
    levels = "levels"


def list_things(
    thing: Annotated[Thing, typer.Argument(help="What to list.")],
    json: options.Json = False,
) -> None:
    """List steps with what they take, marks, tunings, proof's rules, recipes, or levels."""
    values, lines = _LISTS[thing]()
    if json:
        show_json({thing.value: values})
    else:
        show(lines)


def _steps() -> tuple[list[dict[str, Any]], list[str]]:
    from variants.steps import list_families, list_steps

    infos = list_steps()
    families = list_families()
    lines = wrapped(
        "Written name or name:key=value,key=value; lists are joined with +. "
        "Every step proves what it keeps, or nothing is written."
    )
    for info in infos:
        lines += ["", *_step_lines(info)]
    lines += ["", *wrapped("These make several variants; -o names a folder for them.")]
    for family in families:
        lines += ["", *_step_lines(family)]
    return [*map(_step_json, infos), *map(_step_json, families)], lines


def _step_json(info: StepInfo | FamilyInfo) -> dict[str, Any]:
    return {
        "name": info.name,
        "summary": info.summary,
        "keeps": [promise.value for promise in _keeps(info)],
        "parameters": [
            {"name": name, "help": one.help, "values": one.values.text}
            for name, one in info.parameters.items()
        ],
        "examples": list(info.examples),
    }


def _keeps(info: StepInfo | FamilyInfo) -> list[Any]:
    """Return what a step keeps as its first example calls it."""
    from variants.contract import Promise
    from variants.steps import is_family, parse_item

    item = parse_item(info.examples[0])
    # Each member of a family proves what its own steps keep.
    kept = frozenset() if is_family(item) else cast("Step", item).keeps
    return [promise for promise in Promise if promise in kept]


def _step_lines(info: StepInfo | FamilyInfo) -> list[str]:
    lines = [info.name, *wrapped(info.summary, first="  ", other="  ")]
    kept = _keeps(info)
    if kept:
        lines += fields([("keeps", "; ".join(promise.meaning for promise in kept))], indent=2)
    rows = [
        (f"{n}=", f"{one.help}: {_values(one.values.text)}") for n, one in info.parameters.items()
    ]
    lines += fields(rows, indent=2)
    return lines + [
        f"  -s {example!r}" if " " in example else f"  -s {example}" for example in info.examples
    ]


def _values(text: str) -> str:
    """Return values with room to break a long row of them between two lines."""
    return text if len(text) <= _LONGEST_ROW else text.replace("|", " | ")


def _marks() -> tuple[list[dict[str, Any]], list[str]]:
    from variants.marks import MARKS, USUAL

    usual = ", ".join(map(str, USUAL))
    lines = wrapped(
        "Written name or name=word+word and joined with commas, as in "
        f"--mark fingering,counting. Unless something is asked for: {usual}; none for nothing."
    )
    for kind in MARKS.values():
        lines += ["", kind.name, *wrapped(kind.help, first="  ", other="  ")]
        rows = [("|".join(choice.words), choice.help) for choice in kind.choices]
        lines += fields(rows, indent=2)
    return [_mark_json(kind) for kind in MARKS.values()], lines


def _mark_json(kind: MarkKind) -> dict[str, Any]:
    return {
        "name": kind.name,
        "help": kind.help,
        "for_guitar_only": kind.fretted,
        "choices": [
            {"name": one.name, "words": list(one.words), "help": one.help} for one in kind.choices
        ],
    }


def _tunings() -> tuple[list[dict[str, Any]], list[str]]:
    from variants.guitar import TUNINGS

    rows = [(one.name, str(len(one.strings)), one.notes, one.title) for one in TUNINGS]
    lines = table(("name", "strings", "notes", "tuning"), rows, right=(1,))
    hint = (
        "Notes go from the highest-numbered string to string 1, as they sound. --tuning takes a "
        "name, or notes of your own such as C2-G2-D3-G3-A3-D4."
    )
    return [_tuning_json(one) for one in TUNINGS], [*lines, "", *wrapped(hint)]


def _tuning_json(tuning: Tuning) -> dict[str, Any]:
    return {
        "name": tuning.name,
        "title": tuning.title,
        "kind": tuning.kind,
        "notes": tuning.notes,
        "midi": list(tuning.open_midi),
    }


def _levels() -> tuple[list[dict[str, Any]], list[str]]:
    from variants.levels import load_ladder

    levels = load_ladder()
    lines = wrapped(
        "Each level holds the ones before it. A level of your own is a TOML file in the same form "
        "(docs/level.schema.json); fit takes its name."
    )
    for level in levels:
        limits = level.limits.model_dump(by_alias=True, exclude_none=True)
        lines += ["", f"{level.name}: {level.title}"]
        lines += wrapped(level.summary, first="  ", other="  ")
        rows = [(name, _limit_text(one)) for name, one in limits.items()]
        lines += fields([*rows, *(("area", f"{one} ({one.why})") for one in level.areas)], indent=2)
    return [level.model_dump(mode="json", by_alias=True) for level in levels], lines


def _limit_text(limit: dict[str, Any]) -> str:
    value = limit["value"]
    text = ", ".join(map(str, value)) if isinstance(value, list | tuple) else str(value)
    return f"{text or 'none'} ({limit['why']})" if limit["why"] else text or "none"


_LISTS = {
    Thing.steps: _steps,
    Thing.marks: _marks,
    Thing.tunings: _tunings,
    Thing.rules: rule_list,
    Thing.recipes: recipe_list,
    Thing.levels: _levels,
}
