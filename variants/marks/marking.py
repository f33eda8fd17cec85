"""What can be asked of a mark: its name, its choices, and one wish as it is written."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from variants.fingering.score import HandPlace
from variants.score import Part


@dataclass(frozen=True, slots=True)
class Choice:
    """One thing about a mark that can be chosen.

    Args:
        name: What is chosen.
        words: The words to choose it by; the first one holds when none is given.
        help: One line.
    """

    name: str
    words: tuple[str, ...]
    help: str


@dataclass(frozen=True, slots=True)
class Marking:
    """One mark as it is asked for.

    Args:
        name: Name of the mark.
        options: Words of its choices.

    >>> print(Marking("counting", ("takadimi", "no-rests")))
    counting=takadimi+no-rests
    """

    name: str
    options: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.name}={'+'.join(self.options)}" if self.options else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkJob:
    """What a mark is made from.

    Args:
        part: The part, without earlier marks of the same name.
        ticks: Ticks in a quarter.
        hands: The hand along time; empty if the part was not fingered.
        chosen: The word chosen for each choice of the mark.
    """

    part: Part
    ticks: int
    hands: Sequence[HandPlace] = ()
    chosen: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class MarkKind:
    """A mark that can be put on a part and taken off again.

    Args:
        name: Name on the command line and in recipes.
        help: One line.
        put: Puts it on a part that does not have it.
        off: Takes it off; leaves the source's own signs alone.
        choices: What can be chosen.
        fretted: Whether it is for parts with an instrument only.
        nothing: What the change log says when it found nothing to mark; empty if that is usual.
    """

    name: str
    help: str
    put: Callable[[MarkJob], Part]
    off: Callable[[Part], Part]
    choices: tuple[Choice, ...] = ()
    fretted: bool = True
    nothing: str = ""

    def chosen(self, options: Sequence[str]) -> dict[str, str]:
        """Return the word for each choice; words that are none of ours are passed over."""
        found = {}
        for choice in self.choices:
            named = [word for word in options if word in choice.words]
            found[choice.name] = named[-1] if named else choice.words[0]
        return found
