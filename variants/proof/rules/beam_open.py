"""Beams without their other end."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule


@rule("beam-open", Severity.WARNING, "a beam has no other end")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes at which a beam begins, goes on or ends without the rest of it.

    Beams run within a voice, whatever the staff; grace notes have beams of their own.
    """
    for part in page.parts:
        opened: dict[tuple[str, bool, str], Head] = {}
        for head in part.heads:
            for number, value in head.beams:
                key = (head.voice, head.is_grace, number)
                before = opened.get(key)
                if value == "begin":
                    if before is not None:
                        yield _flaw(before, "ends nowhere")
                    opened[key] = head
                elif value in {"continue", "end"}:
                    if before is None:
                        yield _flaw(head, "begins nowhere")
                    elif value == "end":
                        del opened[key]
                    if before is None and value == "continue":
                        opened[key] = head
        for head in opened.values():
            yield _flaw(head, "ends nowhere")


def _flaw(head: Head, what: str) -> Flaw:
    return at_head(head, f"the beam of {head.pitch or 'the rest'} {what}",
                   expected="a beam with both its ends")  # fmt: skip
