"""Nothing that is asked for gets lost: each option, alone, changes what is wished and nothing else.

The options of the front door and the members of a recipe are the same wishes; what is not named is
what the default says.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from typing import Any

import pytest

from variants.front_door import wishes
from variants.marks import parse_marks
from variants.musicxml import Reading
from variants.recipes import Recipe
from variants.variant import Wishes

# An unusual value for each option, and where it arrives. 648 mm is a common scale length.
ASKED: dict[str, tuple[Any, str, Any]] = {
    "tuning": ("drop-d", "strings.tuning", "drop-d"),
    "capo": (2, "strings.capo", 2),
    "frets": (19, "strings.frets", 19),
    "scale": ("648", "strings.scale_length_mm", 648),
    "fingering": ("new", "fingering", "new"),
    "marks": (("strings",), "marks", parse_marks(("strings",))),
    "staves": ("notation", "has_tab", False),
    "places": (True, "places", True),
    "hand": ("small", "settings.hand", "small"),
    "open_strings": ("avoid", "settings.open_strings", "avoid"),
    "position": (5, "settings.position", 5),
    "fingers": ("1,2,3", "settings.fingers", (1, 2, 3)),
    "thumb": (True, "settings.thumb", True),
    "convention": ("classical", "settings.convention", "classical"),
    "dyads": ("two", "settings.dyads", "two"),
    "hold_chords": ("never", "settings.hold_chords", "never"),
}
# What a file alone can say.
OF_FILE: dict[str, tuple[Any, str, Any]] = {
    "part": ("P2", "part", "P2"),
    "reading": ("octave", "reading", "octave"),
}


def flat(value: object, name: str = "") -> dict[str, object]:
    """Return every field of wishes by its path."""
    if not is_dataclass(value):
        return {name: value}
    found: dict[str, object] = {}
    for one in fields(value):
        found |= flat(getattr(value, one.name), f"{name}.{one.name}".strip("."))
    return found


def differing(made: Wishes, usual: Wishes) -> dict[str, object]:
    """Return the fields in which wishes differ from the usual ones."""
    before = flat(usual)
    return {name: one for name, one in flat(made).items() if one != before[name]}


def test_nothing_asked_is_the_default() -> None:
    """The front door without options and a recipe without members wish what `Wishes` does."""
    assert wishes() == Recipe().wishes()
    # The library alone likes open strings as they come; a name stands for a member of that value.
    assert set(differing(wishes(), Wishes())) <= {"settings.open_strings", "reading"}
    assert Reading(wishes().reading) == Wishes().reading


@pytest.mark.parametrize("name", ASKED)
def test_a_member_of_a_recipe_arrives(name: str) -> None:
    """One member, one wish."""
    given, path, arrived = ASKED[name]
    made = Recipe.model_validate({name: given}).wishes()
    assert differing(made, Recipe().wishes()) == {path: arrived}


@pytest.mark.parametrize("name", [*ASKED, *OF_FILE])
def test_an_option_of_the_front_door_arrives(name: str) -> None:
    """One option, one wish."""
    given, path, arrived = (ASKED | OF_FILE)[name]
    assert differing(wishes(**{name: given}), wishes()) == {path: arrived}


def test_every_member_is_asked_for() -> None:
    """A member that is added to recipes has its row here."""
    assert set(Recipe.model_fields) - {"title", "steps"} == set(ASKED)
