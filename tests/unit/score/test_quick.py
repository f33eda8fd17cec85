"""The quick ``__init__`` changes the speed of a value and nothing else."""

from __future__ import annotations

import inspect
import pickle
from dataclasses import FrozenInstanceError, dataclass, field, replace

import pytest

from variants.music import Pitch
from variants.score import Note
from variants.score.quick import quick


@dataclass(frozen=True, slots=True)
class Slow:
    """A value made in the usual way."""

    first: int
    second: str = "b"
    third: tuple[int, ...] = ()


@quick
@dataclass(frozen=True, slots=True)
class Quick:
    """The same value made quickly."""

    first: int
    second: str = "b"
    third: tuple[int, ...] = ()


def test_a_quick_value_is_like_a_slow_one() -> None:
    """Signature, defaults, keywords, equality, hash, repr, copies as usual."""
    assert inspect.signature(Quick) == inspect.signature(Slow)
    one = Quick(1, third=(2,))
    assert one == Quick(first=1, second="b", third=(2,)) != Quick(1)
    assert hash(one) == hash(Quick(1, "b", (2,)))
    assert repr(one) == repr(Slow(1, third=(2,))).replace("Slow", "Quick")
    assert replace(one, first=3) == Quick(3, third=(2,))
    assert pickle.loads(pickle.dumps(Note(Pitch("C", 0, 4)))) == Note(Pitch("C", 0, 4))  # noqa: S301


def test_a_quick_value_is_frozen_and_checks_its_call() -> None:
    """It cannot be changed, and a wrong call is a TypeError."""
    one = Quick(1)
    with pytest.raises(FrozenInstanceError):
        one.first = 2  # type: ignore[misc]
    for arguments in ((), (1, 2, 3, 4)):
        with pytest.raises(TypeError):
            Quick(*arguments)


def test_what_quick_cannot_do_is_refused() -> None:
    """A default factory and a ``__post_init__`` would be passed over, so they are refused."""

    @dataclass(frozen=True, slots=True)
    class Listed:
        items: list[int] = field(default_factory=list)

    @dataclass(frozen=True, slots=True)
    class Checked:
        item: int

        def __post_init__(self) -> None:
            pass

    for cls in (Listed, Checked):
        with pytest.raises(TypeError, match=cls.__name__):
            quick(cls)
