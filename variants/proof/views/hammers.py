"""Hammer-ons and pull-offs from note to note."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from variants.proof.page import Head, Page
from variants.proof.views.doubling import partners
from variants.proof.views.spans import matched, note_ends


@dataclass(frozen=True, slots=True)
class Hammer:
    """One of them.

    Args:
        family: ``hammer-on`` or ``pull-off``.
        start: The note that is struck.
        stop: The note that the left hand sounds.
        strings: Both strings where they are known, else ``None``.
    """

    family: str
    start: Head
    stop: Head
    strings: tuple[int, int] | None

    @property
    def rise(self) -> int | Fraction | None:
        """Semitones from the first to the second."""
        if self.start.sounding is None or self.stop.sounding is None:
            return None
        return self.stop.sounding - self.start.sounding


def hammers(page: Page) -> Iterator[Hammer]:
    """Yield the hammer-ons and pull-offs that have both ends."""
    for part in page.parts:
        for family in ("hammer-on", "pull-off"):
            pairs, _ = matched(note_ends(page, part, family))
            for start, stop in pairs:
                if start.head is None or stop.head is None:
                    continue
                strings = (_string(page, start.head), _string(page, stop.head))
                known = strings if all(strings) else None
                yield Hammer(family, start.head, stop.head, known)


def _string(page: Page, head: Head) -> int:
    if head.string > 0:
        return head.string
    other = partners(page).get(head)
    return max(other.string, 0) if other is not None else 0
