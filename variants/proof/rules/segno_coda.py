"""Jumps whose signs are not there."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule
from variants.proof.views.repeats import Sign, jump_signs


@rule("segno-coda", Severity.ERROR, "a jump leads to a sign that is not there")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the jumps without their sign, and as warnings the signs without a jump."""
    signs = jump_signs(page)
    first = dict(reversed(signs))
    if Sign.DAL_SEGNO in first and Sign.SEGNO not in first:
        yield at_bar(first[Sign.DAL_SEGNO], "the jump goes to a segno, and there is none",
                     expected="a segno")  # fmt: skip
    if Sign.SEGNO in first and Sign.DAL_SEGNO not in first:
        yield at_bar(first[Sign.SEGNO], "no jump leads back to the segno",
                     expected="a D.S. later on", severity=Severity.WARNING)  # fmt: skip
    if Sign.TO_CODA in first and Sign.CODA not in first:
        yield at_bar(first[Sign.TO_CODA], "the jump goes to a coda, and there is none",
                     expected="a coda sign")  # fmt: skip
    if Sign.CODA in first and Sign.TO_CODA not in first:
        yield at_bar(first[Sign.CODA], "no jump leads to the coda",
                     expected="a To Coda before it", severity=Severity.WARNING)  # fmt: skip
    if Sign.AL_FINE in first and Sign.FINE not in first:
        yield at_bar(first[Sign.AL_FINE], "the music goes back to end at a Fine, and there is none",
                     expected="a Fine")  # fmt: skip
