"""Whole staves that stand an octave off their frets or their tab."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.doubling import doublings
from variants.proof.views.octave import slips


@rule("octave-slip", Severity.ERROR, "a whole staff stands an octave off its frets or its tab")
def check(page: Page) -> Iterator[Flaw]:
    """Yield one flaw for each staff that is off as a whole."""
    off = slips(page)
    for one in off.values():
        tuning = "standard tuning, which is assumed" if one.assumed else "its tuning"
        yield at_head(
            one.first,
            f"staff {one.staff} as a whole is written {_octaves(-one.semitones)} than its frets "
            f"sound in {tuning} ({one.notes} notes)",
            expected="transposition or pitches moved by "
            f"{abs(one.semitones) // 12} octave{'s' if abs(one.semitones) > 12 else ''}",
            severity=Severity.WARNING if one.assumed else None,
        )
    for pair in doublings(page):
        # Where the tab's own pitches are off by as much, the notation is right.
        own = off.get(pair.notation)
        tab = off.get(pair.tab)
        if pair.shift and own is None and (tab is None or tab.semitones != pair.shift):
            first = pair.pairs[0][0] if pair.pairs else None
            if first is not None:
                yield at_head(
                    first,
                    f"staff {pair.notation[1]} as a whole sounds {_octaves(pair.shift)} than "
                    "the tab that doubles it",
                    expected="the transposition of a guitar, an octave lower than written",
                )


def _octaves(semitones: int) -> str:
    count = abs(semitones) // 12
    word = "an octave" if count == 1 else f"{count} octaves"
    return f"{word} {'lower' if semitones < 0 else 'higher'}"
