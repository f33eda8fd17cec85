"""Tab whose tuning the file does not give."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page
from variants.proof.registry import rule


@rule("tuning-missing", Severity.WARNING, "a tab staff has no tuning")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the tab staves without a full tuning."""
    for part in page.parts:
        tuned = {one.staff for one in part.strings if one.instrument is not None}
        for staff in sorted(part.tab_staves - tuned):
            clef = next(one for one in part.clefs if one.staff == staff)
            yield at_bar(
                clef.bar, f"the tab of staff {staff} has no tuning", element=clef.element,
                expected="<staff-tuning> for every line",
            )  # fmt: skip
