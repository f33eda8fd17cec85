"""Where the hand stands in a fingered part, for one line of a report."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from variants.fingering import HandAt, roman

_LISTED = 4
OPEN_STRINGS = "open strings"


def positions_used(hands: Iterable[HandAt]) -> tuple[int, ...]:
    """Return the positions in which something is stopped, in order of their first use."""
    found: dict[int, None] = {}
    for hand in hands:
        if len(hand.notes) > hand.open_strings:
            found.setdefault(hand.position, None)
    return tuple(found)


def positions_text(hands: Sequence[HandAt]) -> str:
    """Return the positions as players write them: ``II, V``, ``open strings``; empty for none.

    >>> positions_text([])
    ''
    """
    used = positions_used(hands)
    if not used:
        return OPEN_STRINGS if hands else ""
    names = [roman(position) for position in sorted(used)]
    if len(names) > _LISTED:
        return f"{names[0]} to {names[-1]}"
    return ", ".join(names)
