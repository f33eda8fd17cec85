"""Repeats, endings, and jumps to a sign."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from variants.proof.finding import Severity, at_bar
from variants.proof.page import PageBar, PagePart, ScannedPage, pages
from variants.proof.registry import Flaws, rule
from variants.proof.views.jumps import EndingMark, endings, jump_signs, repeats

# What stands alone, severity, what it is told as and what is expected, for each pair of which one
# sign needs the other.
_PAIRS = (
    ("dalsegno", "segno", None, "the jump goes to a segno, and there is none", "a segno"),
    ("segno", "dalsegno", Severity.WARNING, "no jump leads back to the segno",
     "a D.S. later on"),
    ("tocoda", "coda", None, "the jump goes to a coda, and there is none", "a coda sign"),
    ("coda", "tocoda", Severity.WARNING, "no jump leads to the coda",
     "a To Coda before it"),
    ("alfine", "fine", None, "the music goes back to end at a Fine, and there is none",
     "a Fine"),
)  # fmt: skip
_Told = tuple[PageBar, str, Severity | None]


def _told_once(
    page: ScannedPage, find: Callable[[PagePart], Iterable[_Told]], expected: str
) -> Flaws:
    """Yield what is found in the parts: each has its own copy of a sign, which is told once."""
    seen: set[tuple[int, str]] = set()
    for part in page.parts:
        for bar, message, severity in find(part):
            if (bar.index, message) not in seen:
                seen.add((bar.index, message))
                yield at_bar(bar, message, expected=expected, severity=severity)


@rule("repeat-open", Severity.ERROR, pages)
def repeat_open(page: ScannedPage) -> Flaws:
    """A repeat sign has no other end, or not every part has it.

    The first backward sign may stand alone: it goes back to the beginning. A later one alone
    goes back to the sign before it, which is unusual: a warning.
    """
    yield from _told_once(page, _open_repeats, "both ends of the repeat")
    signs = [{(kind, bar.index) for kind, bar in repeats(part)} for part in page.parts]
    everywhere = set().union(*signs)
    for part, own in zip(page.parts, signs, strict=True):
        # Parts without any repeat sign leave them to the first part.
        for kind, index in sorted(everywhere - own) if own else ():
            if index < len(part.bars):
                yield at_bar(part.bars[index], f"the part lacks the {kind} repeat of other parts",
                             expected="the same repeats in every part",
                             severity=Severity.WARNING)  # fmt: skip


def _open_repeats(part: PagePart) -> Iterator[_Told]:
    opened: PageBar | None = None
    ended = False
    for direction, bar in repeats(part):
        if direction == "forward":
            if opened is not None:
                yield opened, "the repeat that begins here does not end before another begins", None
            opened = bar
        else:
            if opened is None and ended:
                message = "the repeat that ends here begins nowhere after the one before it"
                yield bar, message, Severity.WARNING
            opened, ended = None, True
    if opened is not None:
        yield opened, "the repeat that begins here ends nowhere", None


@rule("ending-open", Severity.ERROR, pages)
def ending_open(page: ScannedPage) -> Flaws:
    """An ending has no other end, or its number is out of order."""
    yield from _told_once(page, _open_endings, "endings 1, 2, ... with both their ends")


def _open_endings(part: PagePart) -> Iterator[_Told]:
    opened: EndingMark | None = None
    last = 0
    for ending in endings(part):
        if ending.kind == "start":
            if opened is not None:
                yield opened.bar, f"ending {opened.number} is not closed", None
            opened = ending
            first = min(ending.numbers, default=0)
            if first > 1 and last != first - 1 and (last == 0 or last >= first):
                yield ending.bar, f"ending {ending.number} follows no ending {first - 1}", None
            last = max(ending.numbers, default=0)
        elif opened is None:
            yield ending.bar, f"ending {ending.number} is closed and was not opened", None
        else:
            if opened.number != ending.number:
                closed = f"as {ending.number}" if ending.number else "without its number"
                yield ending.bar, f"ending {opened.number} is closed {closed}", None
            opened = None
    if opened is not None:
        yield opened.bar, f"ending {opened.number} is not closed", None


@rule("segno-coda", Severity.ERROR, pages)
def segno_coda(page: ScannedPage) -> Flaws:
    """A jump leads to a sign that is not there.

    Signs that no jump leads to are warnings.
    """
    first = dict(reversed(jump_signs(page)))
    for one, other, severity, message, expected in _PAIRS:
        if one in first and other not in first:
            yield at_bar(first[one], message, expected=expected, severity=severity)
