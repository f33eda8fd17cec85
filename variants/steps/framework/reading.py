"""Readers of parameter values, and the checks of the same values when Python gives them."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from variants.errors import UsageError


def choice(*allowed: str) -> Callable[[str], str]:
    """Return a reader of one of the words.

    >>> choice("root", "top")(" Top ")
    'top'
    """

    def read(text: str) -> str:
        word = text.strip().lower()
        if word not in allowed:
            raise UsageError(f"{text!r} is not allowed", way_out=f"use {either(allowed)}")
        return word

    return read


def whole(*, min_value: int, max_value: int) -> Callable[[str], int]:
    """Return a reader of a whole number within bounds, both included.

    >>> whole(min_value=0, max_value=24)("12")
    12
    """

    def read(text: str) -> int:
        stripped = text.strip()
        digits = stripped[1:] if stripped[:1] in {"-", "+"} else stripped
        way_out = f"use a whole number from {min_value} to {max_value}"
        if not (digits.isascii() and digits.isdigit()):
            raise UsageError(f"{text!r} is no whole number", way_out=way_out)
        number = int(stripped)
        if not min_value <= number <= max_value:
            raise UsageError(f"{number} is out of range", way_out=way_out)
        return number

    return read


def joined(read: Callable[[str], object]) -> Callable[[str], tuple[object, ...]]:
    """Return a reader of a list joined with ``+``.

    >>> joined(whole(min_value=1, max_value=6))("5+4")
    (5, 4)
    """

    def read_all(text: str) -> tuple[object, ...]:
        return tuple(read(piece) for piece in text.split("+"))

    return read_all


def show_joined(values: Iterable[object]) -> str:
    """Return a list as it is written: joined with ``+``."""
    return "+".join(str(value) for value in values)


def one_of(value: object, allowed: Iterable[object], *, name: str) -> None:
    """Check a value that Python gave, where no reader has checked it.

    Raises:
        UsageError: It is not one of those allowed.
    """
    words = tuple(allowed)
    if value not in words:
        raise UsageError(
            f"{name} cannot be {value!r}", way_out=f"use {either(str(word) for word in words)}"
        )


def either(words: Iterable[str]) -> str:
    """Return the words as a choice: ``a, b or c``."""
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last
