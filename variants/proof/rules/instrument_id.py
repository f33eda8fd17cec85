"""Notes that name an instrument that the part does not declare."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Page
from variants.proof.registry import rule


@rule("instrument-id", Severity.ERROR, "a note names an instrument that the part does not declare")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the first note of each unknown instrument in each measure."""
    for part in page.parts:
        if part.declared is None:
            continue
        known = {one.get("id", "") for one in part.declared.findall("score-instrument")}
        seen: set[tuple[int, str]] = set()
        for head in part.heads:
            name = head.instrument_id
            if name and name not in known and (head.bar.index, name) not in seen:
                seen.add((head.bar.index, name))
                yield at_head(
                    head, f"the note is for instrument {name!r}, which the part does not declare",
                    expected=" or ".join(sorted(known)),
                )  # fmt: skip
