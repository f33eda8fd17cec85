"""Repeat signs without their other end."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Bar, Page
from variants.proof.registry import rule
from variants.proof.views.repeats import repeats


@rule("repeat-open", Severity.ERROR, "a repeat sign has no other end, or not every part has it")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the repeat signs that pair with none.

    The first backward sign may stand alone: it goes back to the beginning. A later one alone
    goes back to the sign before it, which is unusual: a warning.
    """
    seen: set[tuple[int, str]] = set()
    for part in page.parts:
        opened: Bar | None = None
        ended = False
        for direction, bar in repeats(part):
            if direction == "forward":
                if opened is not None:
                    yield from _once(seen, opened, "the repeat that begins here does not end "
                                     "before another begins", None)  # fmt: skip
                opened = bar
            else:
                if opened is None and ended:
                    yield from _once(seen, bar, "the repeat that ends here begins nowhere after "
                                     "the one before it", Severity.WARNING)  # fmt: skip
                opened, ended = None, True
        if opened is not None:
            yield from _once(seen, opened, "the repeat that begins here ends nowhere", None)
    yield from _differences(page)


def _once(
    seen: set[tuple[int, str]], bar: Bar, message: str, severity: Severity | None
) -> Iterator[Flaw]:
    # Every part has its own copy of the sign.
    if (bar.index, message) not in seen:
        seen.add((bar.index, message))
        yield at_bar(bar, message, expected="both ends of the repeat", severity=severity)


def _differences(page: Page) -> Iterator[Flaw]:
    signs = [{(kind, bar.index) for kind, bar in repeats(part)} for part in page.parts]
    everywhere = set().union(*signs)
    for part, own in zip(page.parts, signs, strict=True):
        # Parts without any repeat sign leave them to the first part.
        for kind, index in sorted(everywhere - own) if own else ():
            if index < len(part.bars):
                yield at_bar(part.bars[index], f"the part lacks the {kind} repeat of other parts",
                             expected="the same repeats in every part",
                             severity=Severity.WARNING)  # fmt: skip
