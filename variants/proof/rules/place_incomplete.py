"""A string without a fret, a fret without a string, or two of them."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule


@rule("place-incomplete", Severity.WARNING, "a tab note without string or fret, or with two")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the tab notes whose place is not one string and one fret."""
    for part in page.parts:
        tabs = part.tab_staves
        for head in part.heads:
            if head.extra_places:
                yield at_head(head, "the note has more than one string or fret",
                              expected="one of each")  # fmt: skip
            if head.pitch is None or head.is_placed or head.staff not in tabs:
                continue
            if head.string or head.fret != -1 or head.is_struck:
                lacks = "fret" if head.string else "string"
                if not head.string and head.fret == -1:
                    lacks = "string and fret"
                yield at_head(head, f"the tab note {head.pitch} has no {lacks}",
                              expected="a string and a fret")  # fmt: skip
