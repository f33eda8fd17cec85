"""What the values of a parameter may be: said once, for text, for Python and for people."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from variants.errors import UsageError


@dataclass(frozen=True, slots=True)
class ParameterValues:
    """What a parameter may be.

    Args:
        text: What may be written, for people: ``root|top|bottom`` or ``m3, -P4, ...``.
        read: From text to value.
        allows: Whether a value that Python gives is one of them.
        way_out: What to use instead of another.
        show: From value to text.
    """

    text: str
    read: Callable[[str], object]
    allows: Callable[[Any], bool]
    way_out: str
    show: Callable[[Any], str] = str

    def check(self, value: object, *, name: str) -> None:
        """Check a value that Python gave, where no reader has checked it.

        Raises:
            UsageError: It is not one of these.
        """
        if not self.allows(value):
            raise UsageError(f"{name} cannot be {value!r}", way_out=self.way_out)


def choice(*words: str, also: Mapping[str, str] | None = None) -> ParameterValues:
    """Return the values that are one of some words.

    Args:
        words: The words.
        also: Other ways to write some of them.

    >>> choice("root", "top").read(" Top ")
    'top'
    """
    others = dict(also or {})

    def read(text: str) -> str:
        word = text.strip().lower()
        if word not in words and word not in others:
            raise UsageError(f"{text!r} is not allowed", way_out=way_out)
        return others.get(word, word)

    way_out = f"use {either((*words, *others))}"
    shown = f"{'|'.join(words)} (or {'|'.join(others)})" if others else "|".join(words)
    return ParameterValues(shown, read, words.__contains__, way_out)


def whole(least: int, most: int, *, text: str = "") -> ParameterValues:
    """Return the whole numbers within bounds, both included.

    >>> whole(0, 24).read("12")
    12
    """
    way_out = f"use a whole number from {least} to {most}"

    def read(written: str) -> int:
        stripped = written.strip()
        digits = stripped[1:] if stripped[:1] in {"-", "+"} else stripped
        if not (digits.isascii() and digits.isdigit()):
            raise UsageError(f"{written!r} is no whole number", way_out=way_out)
        # A long row of digits is no number that anything could need, and slow to read.
        number = int(stripped) if len(digits) <= _MOST_DIGITS else most + 1
        if not least <= number <= most:
            raise UsageError(f"{stripped[:_MOST_DIGITS]} is out of range", way_out=way_out)
        return number

    return ParameterValues(
        text or f"{least} to {most}", read, range(least, most + 1).__contains__, way_out
    )


_MOST_DIGITS = 20


def parsed(kind: type, read: Callable[[str], object], text: str) -> ParameterValues:
    """Return the values of a type that are written as its reader reads them."""
    return ParameterValues(text, read, lambda value: isinstance(value, kind), f"it takes {text}")


def written(read: Callable[[str], object], text: str) -> ParameterValues:
    """Return the texts that a reader understands, which Python gives as texts too."""
    return ParameterValues(text, read, lambda value: bool(read(value)), f"it takes {text}")


def joined(one: ParameterValues, text: str, *, all_of_them: str = "") -> ParameterValues:
    """Return the lists of some values, joined with ``+``.

    Args:
        one: What stands in the list.
        text: What may be written, for people.
        all_of_them: The word that stands for the empty list, if there is one.

    >>> joined(whole(1, 6), "5+4").read("5+4")
    (5, 4)
    """

    def read(written: str) -> tuple[object, ...]:
        if all_of_them and written.strip().lower() == all_of_them:
            return ()
        return tuple(one.read(piece) for piece in written.split("+"))

    def allows(value: Any) -> bool:  # noqa: ANN401 - whatever Python gives
        is_list = isinstance(value, tuple) and bool(value or all_of_them)
        return is_list and all(map(one.allows, value))

    def show(values: Iterable[object]) -> str:
        return "+".join(map(one.show, values)) or all_of_them

    return ParameterValues(text, read, allows, one.way_out, show)


def either(words: Iterable[str]) -> str:
    """Return the words as a choice: ``a, b or c``."""
    *most, last = words
    return f"{', '.join(most)} or {last}" if most else last
