"""Tuplet brackets without their other end."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from lxml import etree

from variants.proof.finding import Fix, Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.spans import End, matched, note_ends
from variants.proof.views.tuplets import group_from


@rule("tuplet-open", Severity.ERROR, "a tuplet bracket has no other end")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the tuplet brackets that hang loose."""
    for part in page.parts:
        _, loose = matched(note_ends(page, part, "tuplet"))
        for end in loose:
            if end.head is not None:
                yield at_head(
                    end.head,
                    "the tuplet that begins here ends nowhere"
                    if end.is_start
                    else "the tuplet that ends here begins nowhere",
                    expected="both ends of the tuplet",
                    fix=_fix(end),
                )


def _fix(end: End) -> Fix | None:
    """Return the fix that closes a tuplet whose ratio says where it ends."""
    if end.head is None:
        return None
    group = group_from(end.head, forward=end.is_start)
    if not group:
        return None
    other, role = group[-1], "stop" if end.is_start else "start"
    return Fix(f"write the {role} of the tuplet", _writer(other, end, role))


def _writer(head: Head, end: End, role: str) -> Callable[[], None]:
    def write() -> None:
        notations = head.element.find("notations")
        if notations is None:
            notations = etree.Element("notations")
            after = ("lyric", "play", "listen")
            place = next((i for i, one in enumerate(head.element) if one.tag in after),
                         len(head.element))  # fmt: skip
            head.element.insert(place, notations)
        mark = etree.SubElement(notations, "tuplet", type=role)
        if end.element.get("number"):
            mark.set("number", end.number)

    return write
