"""A capo that is only written, or is another one."""

from __future__ import annotations

import re
from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page, PagePart
from variants.proof.registry import rule
from variants.proof.scan_note import whole
from variants.proof.views.labels import roman_value

_CAPO = re.compile(
    r"\bcapo(?:tasto)?\.?[\s:]*(?:at\s+)?(?:fret\s*)?(\d{1,2}|[IVX]{1,4})\b", re.IGNORECASE
)


@rule("capo-text", Severity.WARNING, "the words name a capo that the tab does not have")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the words that name another capo than the staff details of their part."""
    for part in page.parts:
        if not part.is_fretted:
            continue
        stated = _stated(part)
        for bar in part.bars:
            for direction in bar.directions:
                found = _CAPO.search(direction.words)
                if not found:
                    continue
                text = found.group(1)
                capo = int(text) if text.isdigit() else roman_value(text.upper())
                if capo not in stated and part.strings:
                    there = ", ".join(map(str, sorted(stated))) if stated - {0} else "none"
                    yield at_bar(
                        bar, f"the words say capo {capo}, the staff details say {there}",
                        onset=direction.onset, expected=f"<capo>{capo}</capo>",
                        element=direction.element,
                    )  # fmt: skip


def _stated(part: PagePart) -> set[int]:
    return {whole(one.element.findtext("capo") or "0") or 0 for one in part.strings}
