"""Signs that say something else than the pitch."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.signs import NAMES, Trouble, sign_report


@rule("accidental-wrong", Severity.ERROR, "the printed sign is not that of the pitch")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes whose sign contradicts their alteration."""
    for part in page.parts:
        for one in sign_report(page, part).of(Trouble.WRONG):
            pitch = one.head.pitch
            if pitch is not None:
                yield at_head(
                    one.head, f"the sign is a {one.head.sign}, the pitch is {pitch}",
                    expected=f"a {NAMES.get(int(pitch.alter), 'sign')}",
                    # An editor may propose another pitch than the source has.
                    severity=Severity.WARNING if one.head.is_editorial else None,
                )  # fmt: skip
