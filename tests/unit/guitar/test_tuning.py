"""Tunings: reading, order of the strings, and what is refused."""

from __future__ import annotations

import pytest

from variants.errors import UsageError
from variants.guitar import TUNINGS, Tuning, named_tuning, parse_tuning, tuning_names
from variants.music import Pitch

ISSUE_NAMES = [
    "standard",
    "drop-d",
    "double-drop-d",
    "dadgad",
    "open-g",
    "open-d",
    "open-e",
    "half-step-down",
    "whole-step-down",
    "seven-string",
    "baritone",
    "bass-4",
    "bass-5",
    "ukulele",
    "tenor",
    "mandolin",
    "banjo-5",
]


def test_names_in_table() -> None:
    """The table has every tuning that the command line offers, in a fixed order."""
    assert list(tuning_names()) == ISSUE_NAMES


@pytest.mark.parametrize("name", ISSUE_NAMES)
def test_notes_round_trip(name: str) -> None:
    """The notes of a named tuning read back as the very same tuning."""
    tuning = parse_tuning(name)
    assert parse_tuning(tuning.notes) is tuning
    assert named_tuning(tuning.open_strings) is tuning
    assert tuning.title


def test_names_are_unique() -> None:
    """No two named tunings share a name or their notes, so that notes find one tuning."""
    assert len({tuning.name for tuning in TUNINGS}) == len(TUNINGS)
    assert len({tuning.open_midi for tuning in TUNINGS}) == len(TUNINGS)


@pytest.mark.parametrize("text", ["drop-d", "Drop D", "DROP_D", "  drop   d ", "drop-D"])
def test_spelling_of_names(text: str) -> None:
    """Case, spaces and underscores do not matter in a name."""
    assert parse_tuning(text).name == "drop-d"


def test_string_one_comes_first() -> None:
    """The trade's order is kept for reading, tab's order for counting."""
    drop_d = parse_tuning("drop-d")
    assert [str(pitch) for pitch in drop_d.strings] == ["D2", "A2", "D3", "G3", "B3", "E4"]
    assert [str(pitch) for pitch in drop_d.open_strings] == ["E4", "B3", "G3", "D3", "A2", "D2"]
    assert drop_d.open_midi == (64, 59, 55, 50, 45, 38)


def test_never_sorted() -> None:
    """The high fourth string of a ukulele and the fifth of a banjo stay where they hang."""
    assert parse_tuning("ukulele").open_midi == (69, 64, 60, 67)
    banjo = parse_tuning("banjo-5")
    assert banjo.open_midi == (62, 59, 55, 50, 67)
    assert banjo.first_frets == (0, 0, 0, 0, 5)
    assert parse_tuning("E4-A2-C3").open_midi == (48, 45, 64)


@pytest.mark.parametrize(
    ("text", "midi"),
    [
        ("C2-G2-D3-A3-E4-B4", (71, 64, 57, 50, 43, 36)),
        ("db2-Ab2-Db3-F#3", (54, 49, 44, 37)),
        ("D2 - A2 - D3", (50, 45, 38)),
        ("E2", (40,)),
    ],
)
def test_given_as_notes(text: str, midi: tuple[int, ...]) -> None:
    """Notes are read from the highest-numbered string to string 1."""
    assert parse_tuning(text).open_midi == midi


def test_given_spelling_stays() -> None:
    """A tuning that has no name is called by its notes, spelled as they were given."""
    assert str(parse_tuning("Db2-Ab2-c#3")) == "Db2-Ab2-C#3"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("dropd", "no tuning is called 'dropd'; did you mean drop-d"),
        ("standart", "did you mean standard"),
        ("dadgat", "did you mean dadgad"),
        ("banjo", "did you mean banjo-5"),
        ("bass", "did you mean bass-4 or bass-5"),
        ("open", "did you mean open-g or open-d or open-e?"),
        ("half step", "did you mean half-step-down"),
        ("xyzzy", "see `neckwise list tunings`"),
        ("", "no tuning is called ''"),
        ("D-A-D-G-B-E", "string 6 is tuned to 'D', which has no octave"),
        ("E2-A2-D3-G3-B-E4", "string 2 is tuned to 'B', which has no octave"),
        ("E2-A2-D3-H3-B3-E4", "tuning, string 3: 'H3' is no note"),
        ("E2-A2--D3", "tuning, string 2: '' is no note"),
        ("E9-A2", "no string 2 can be tuned to E9"),
        ("C0-A2", "no string 2 can be tuned to C0"),
        ("-".join(["E2"] * 13), "a tuning of 13 strings"),
    ],
)
def test_refusals(text: str, message: str) -> None:
    """A tuning that is none is refused in one line that says what to do."""
    with pytest.raises(UsageError) as caught:
        parse_tuning(text)
    line = str(caught.value)
    assert message in line
    assert "\n" not in line
    assert caught.value.way_out


def test_first_frets_need_all_strings() -> None:
    """First frets are given for each string or not at all."""
    with pytest.raises(UsageError, match="2 first frets for 1 strings"):
        Tuning("odd", (Pitch.parse("E2"),), first_frets=(0, 5))
