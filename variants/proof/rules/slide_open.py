"""Slides without their other end."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.spans import matched, note_ends


@rule("slide-open", Severity.ERROR, "a slide has no other end")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the slides and glissandos that hang loose."""
    for part in page.parts:
        for family in ("slide", "glissando"):
            _, loose = matched(note_ends(page, part, family))
            for end in loose:
                yield at_bar(
                    end.bar,
                    f"the {family} that begins here leads nowhere"
                    if end.is_start
                    else f"the {family} that ends here comes from nowhere",
                    onset=end.onset, expected=f"both ends of the {family}", element=end.element,
                    voice=end.lane[0],
                )  # fmt: skip
