"""Level files: our ladder, a teacher's own, and what is said of files that are wrong."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest

from variants.errors import InputError, NeckwiseError, UsageError
from variants.levels import LADDER, Level, level_schema, load_ladder, load_level
from variants.levels.level import BARRES, OFF_BEATS, TIES

PAIRS = list(pairwise(LADDER))
ROOT = Path(__file__).parents[3]
_ORDERED = {"off-beats": OFF_BEATS, "ties": TIES, "barres": BARRES}


TWO_AREAS = """name = "a"
[[areas]]
strings = [1]
frets = [0, 3]
[[areas]]
strings = [1]
frets = [5, 3]
"""


def _limits(level: Level) -> dict[str, object]:
    stated = level.limits.model_dump(by_alias=True, exclude_none=True)
    return {name: limit["value"] for name, limit in stated.items()}


@pytest.mark.parametrize(("lower", "higher"), PAIRS)
def test_ladder_is_nested(lower: str, higher: str) -> None:
    """Each limit and area of a level lies inside those of the next."""
    first, second = load_level(lower), load_level(higher)
    before, after = _limits(first), _limits(second)
    assert before.keys() == after.keys()
    for name, value in before.items():
        other = after[name]
        if name in _ORDERED:
            assert _ORDERED[name].index(value) <= _ORDERED[name].index(other), name
        elif isinstance(value, int | float) and isinstance(other, int | float):
            assert value <= other, name
        elif isinstance(value, list | tuple) and isinstance(other, list | tuple):
            assert set(value) <= set(other), name
        else:
            pytest.fail(f"{name}: {value!r} and {other!r} cannot be compared")
    assert all(any(area.within(one) for one in second.areas) for area in first.areas)


@pytest.mark.parametrize(("lower", "higher"), PAIRS)
def test_unmarked_pieces_stay_within(lower: str, higher: str) -> None:
    """The faster practice tempo of the next level is no harder within its own rates."""
    first, second = load_level(lower), load_level(higher)
    for name in ("speed", "shift"):
        one, two = getattr(first.limits, name).value, getattr(second.limits, name).value
        assert one / first.practice_tempo <= two / second.practice_tempo + 1e-9, name


@pytest.mark.parametrize("name", LADDER)
def test_every_limit_has_its_reason(name: str) -> None:
    """Each limit and each area of our ladder says where it comes from."""
    level = load_level(name)
    for key, limit in level.limits.model_dump(exclude_none=True).items():
        assert limit["why"], key
    assert all(area.why for area in level.areas)


def test_schema_is_that_of_the_code() -> None:
    """The JSON Schema in docs is written from the model; make it anew with `level_schema`."""
    assert (ROOT / "docs" / "level.schema.json").read_text(encoding="utf-8") == level_schema()


def _file(folder: Path, text: str, name: str = "mine.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_own_level_extends_ours(tmp_path: Path) -> None:
    """A teacher's level takes our limits, states its own, and adds its areas."""
    text = 'name = "mine"\nextends = "level-2"\n[limits.signature]\nvalue = 3\n'
    level = load_level(_file(tmp_path, text))
    parent = load_level("level-2")
    assert level.limits.signature is not None
    assert level.limits.signature.value == 3
    assert level.limits.note_values == parent.limits.note_values
    assert level.areas == parent.areas
    more = text + "[[areas]]\nstrings = [6]\nframes = [0, 3]\n"
    with pytest.raises(InputError):
        load_level(_file(tmp_path, more))
    level = load_level(_file(tmp_path, more.replace("frames", "frets")))
    assert level.areas[-1].strings == (6,)
    assert len(level.areas) == len(parent.areas) + 1


def test_own_level_extends_a_file_beside_it(tmp_path: Path) -> None:
    """A file named in ``extends`` is looked for beside the one that names it."""
    _file(tmp_path, 'name = "easy"\n[limits.signature]\nvalue = 1\n', "easy.toml")
    level = load_level(_file(tmp_path, 'name = "next"\nextends = "easy.toml"\n'))
    assert level.limits.signature is not None
    assert level.limits.signature.value == 1


@pytest.mark.parametrize(
    ("text", "line", "cause"),
    [
        ('name = "a"\nbroken', 2, "is no TOML"),
        ('name = "a"\n[limits.signature]\nvalue = "two"\n', 3, "limits.signature.value"),
        ('name = "a"\n\n[limits.off-beats]\nvalue = "some"\n', 4, "limits.off-beats.value"),
        ('name = "a"\n[limits.speeds]\nvalue = 2\n', 2, "there is no such key"),
        (TWO_AREAS, 5, "in this order"),
        ('name = "a"\n[[areas]]\nfrets = [0, 3]\n', 2, "is missing"),
        ('title = "no name"\n', 1, "name: is missing"),
    ],
)  # fmt: skip
def test_error_names_its_line(tmp_path: Path, text: str, line: int, cause: str) -> None:
    """What is wrong is told in one line, with the line of the file."""
    with pytest.raises(NeckwiseError) as error:
        load_level(_file(tmp_path, text))
    assert f"mine.toml, line {line}: " in str(error.value)
    assert cause in str(error.value)
    assert "\n" not in str(error.value)


def test_levels_that_extend_each_other(tmp_path: Path) -> None:
    """A circle is found and told."""
    _file(tmp_path, 'name = "a"\nextends = "b.toml"\n', "a.toml")
    _file(tmp_path, 'name = "b"\nextends = "a.toml"\n', "b.toml")
    with pytest.raises(UsageError, match="in turn"):
        load_level(tmp_path / "a.toml")


@pytest.mark.parametrize("name", ["level-7", "nothing.toml", "level-1/"])
def test_no_such_level(name: str) -> None:
    """An unknown level is one line that names what there is, or the file."""
    with pytest.raises(NeckwiseError, match=r"level-1|nothing\.toml"):
        load_level(name)


def test_ladder_in_order() -> None:
    """The ladder is level 1 to level 6."""
    assert [level.name for level in load_ladder()] == [f"level-{n}" for n in range(1, 7)]
