"""The independent check, limit by limit, on scores drawn for it."""

from __future__ import annotations

from typing import Any

import pytest

from tests.strategies import line
from tests.unit.levels.made import level, placed
from variants.levels import meets


@pytest.mark.parametrize(
    ("text", "limit", "value", "places"),
    [
        ("E4 E4+G4 r E4", "notes_at_once", 1, ["measure 1, beat 2"]),
        ("E4:h E4:e E4:e E4", "note_values", ("quarter", "half"), ["measure 1, beat 3",
                                                                    "measure 1, beat 3.5"]),
        ("E4 E4:e F4:e E4:h", "off_beats", "none", ["measure 1, beat 2.5"]),
        ("E4 E4:e F4:e E4:h", "off_beats", "paired", []),
        ("E4:q. F4:e E4:h", "off_beats", "paired", ["measure 1, beat 2.5"]),
        ("E4:q. F4:e E4:h", "off_beats", "after-held", []),
        ("E4:e F4:q G4:e E4:h", "off_beats", "after-held", ["measure 1, beat 1.5"]),
        ("E4:e F4:q G4:e E4:h", "off_beats", "any", []),
        ("r:e F4:e E4 E4:h", "off_beats", "paired", ["measure 1, beat 1.5"]),
        ("E4:w~ | E4:w", "ties", "none", ["measure 2, beat 1"]),
        ("E4:w~ | E4:w", "ties", "held", []),
        ("E4:h. r:e E4:e~ | E4:w", "ties", "measure", ["measure 2, beat 1"]),
        ("E4:h. r:e E4:e~ | E4:w", "ties", "barline", []),
        ("E4 F#4 G#4 C#4", "altered", 2, ["measure 1, beat 4"]),
        ("E4:e F4:e E4:e F4:e E4:h", "speed", 1.2, ["measure 1"]),
        ("E4:w | E4:w | E4:w", "measures", 2, [""]),
    ],
)  # fmt: skip
def test_limit(text: str, limit: str, value: object, places: list[str]) -> None:
    """Each limit finds just the moments that break it."""
    found = meets(line(*text.split(" | ")), level(**{limit: value}))
    told = [f"measure {one.measure}" * bool(one.measure) for one in found]
    told = [f"{a}, beat {one.beat}" if one.beat else a for a, one in zip(told, found, strict=True)]
    assert told == places
    assert all(one.limit == limit.replace("_", "-") for one in found)


@pytest.mark.parametrize(
    ("limits", "places", "broken"),
    [
        ({"fingers": (1, 2, 3)}, ("1:0", "1:4/4"), ["fingers"]),
        ({"fingers": (1, 2, 3, 4)}, ("1:0", "1:4/4"), []),
        ({"shift": 100.0}, ("1:1/1", "1:5/1"), ["shift"]),
        ({"shift": 130.0}, ("1:1/1", "1:5/1"), []),
    ],
)
def test_hand_limit(limits: dict[str, Any], places: tuple[str, str], broken: list[str]) -> None:
    """What the hand does is read from string, fret and finger; frets 1 to 5 are 127 mm."""
    text = "E4:h G#4:h" if places[0] == "1:0" else "F4 A4 r r"
    found = meets(placed(text, *places), level(**limits))
    assert [one.limit for one in found] == broken


def test_stretch_of_a_smaller_hand() -> None:
    """The same grip is within a medium hand's reach and past a small one's."""
    chord = placed("F3+C4+A4", "4:3/3", "2:1/1", "1:5/4")
    share = level(stretch=1.0)
    assert not meets(placed("F2+C3 r r r", "6:1/1", "5:3/3"), share)
    assert [one.limit for one in meets(chord, share, hand="small")] == ["stretch"] * 2


@pytest.mark.parametrize(
    ("allowed", "places", "ok"),
    [
        ("none", ("4:2/1", "3:2/1"), False),
        ("half", ("4:2/1", "3:2/1"), True),
        ("half", ("6:1/1", "1:1/1"), False),
        ("full", ("6:1/1", "1:1/1"), True),
    ],
)
def test_barres(allowed: str, places: tuple[str, str], ok: bool) -> None:
    """A barre is one finger on several strings; over six strings it is a full one."""
    text = "E3+A3:w" if places[0] == "4:2/1" else "F2+F4:w"
    assert (not meets(placed(text, *places), level(barres=allowed))) is ok


def test_one_area_must_hold_all() -> None:
    """Notes that two areas hold together, but none of them alone, are outside."""
    areas = [
        {"strings": [1, 2], "frets": [0, 3]},
        {"strings": [1, 3], "one-string": True, "frets": [0, 12]},
    ]
    limits = level(areas)
    assert not meets(placed("E4 C4 G4 B3", "1:0", "2:1/1", "1:3/3", "2:0"), limits)
    assert not meets(placed("E4 E5:h.", "1:0", "1:12/4"), limits)
    found = meets(placed("C4 E5:h.", "2:1/1", "1:12/4"), limits)
    assert [one.limit for one in found] == ["areas"]
    assert meets(placed("E4 G3:h.", "1:0", "3:0"), limits)


def test_obstacle_says_the_reason() -> None:
    """An obstacle carries the reason of the level file."""
    from variants.levels import load_level

    found = meets(line("E4+G4:w"), load_level("level-1"))
    assert next(one for one in found if one.limit == "notes-at-once").why


def test_check_and_search_share_no_counting() -> None:
    """The check imports nothing of the search, nor the search anything of the check."""
    import ast
    from pathlib import Path

    import variants.levels

    folder = Path(variants.levels.__file__).parent
    search = {"search", "plan", "place", "profile", "menu", "loss", "areas", "workshop"}
    check = {"check", "written"}

    def imported(name: str) -> set[str]:
        tree = ast.parse((folder / f"{name}.py").read_text(encoding="utf-8"))
        found = [one.module for one in ast.walk(tree) if isinstance(one, ast.ImportFrom)]
        return {one.rpartition(".")[2] for one in found if one and ".levels." in one}

    assert not any(imported(name) & check for name in search)
    assert not any(imported(name) & search for name in check)
