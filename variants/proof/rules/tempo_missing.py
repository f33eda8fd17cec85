"""Scores that do not say how fast they go."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page
from variants.proof.registry import rule


@rule("tempo-missing", Severity.HINT, "the score gives no tempo")
def check(page: Page) -> Iterator[Flaw]:
    """Yield one hint for a score without metronome mark or tempo."""
    for bar in page.bars():
        for direction in bar.directions:
            element = direction.element
            sound = element if element.tag == "sound" else element.find("sound")
            if sound is not None and sound.get("tempo"):
                return
            if element.find("direction-type/metronome") is not None:
                return
    yield Flaw("the score gives no tempo", "a tempo or a metronome mark")
