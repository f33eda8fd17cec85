"""The header of a file, its parts, and places that no program can read."""

from __future__ import annotations

from functools import partial

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import PagePart, ScannedPage, pages, parts
from variants.proof.registry import Flaws, declare, rule

# What scanning notes as it goes (`variants.proof.page.Slip`): all errors.
_SLIPS = {
    "backup": "a backup leads before the start of the measure",
    "chord-first": "a chord member stands where no note comes before it",
    "divisions": "no divisions say how long a duration is",
    "metre": "a time signature that nobody can read",
    "part-id": "a part that the part list does not have, or the other way about",
    "string-count": "the tuned strings are not those of the lines of the tab",
    "xml-value": "a value that no program can read",
}


def _slips_of(page: ScannedPage, *, rule: str) -> Flaws:
    for slip in page.slips:
        if slip.rule == rule:
            yield Flaw(slip.message, slip.expected, element=slip.element)
    for bar in page.bars():
        for slip in bar.slips:
            if slip.rule == rule:
                yield Flaw(
                    slip.message, slip.expected, bar.part, bar, slip.onset, element=slip.element
                )


for _id, _meaning in _SLIPS.items():
    declare(_id, Severity.ERROR, _meaning, partial(_slips_of, rule=_id))


@rule("title-missing", Severity.HINT, pages)
def title_missing(page: ScannedPage) -> Flaws:
    """The score has no title."""
    titles = (page.root.findtext("work/work-title"), page.root.findtext("movement-title"))
    if not any((title or "").strip() for title in titles):
        yield Flaw("the score has no title", "a title")


@rule("rights-missing", Severity.HINT, pages)
def rights_missing(page: ScannedPage) -> Flaws:
    """The score has no rights line."""
    stated = [one.text for one in page.root.findall("identification/rights")]
    credited = [one.text for one in page.root.iterfind("credit/credit-type")]
    if not (any(map(str.strip, filter(None, stated))) or "rights" in map(_stripped, credited)):
        yield Flaw("the score has no rights line", "a <rights> line: who owns it, or public domain")


def _stripped(text: str | None) -> str:
    return (text or "").strip()


@rule("tempo-missing", Severity.HINT, pages)
def tempo_missing(page: ScannedPage) -> Flaws:
    """The score gives no tempo."""
    for bar in page.bars():
        for direction in bar.directions:
            sound = direction.sound
            if sound is not None and sound.get("tempo"):
                return
            if direction.element.find("direction-type/metronome") is not None:
                return
    yield Flaw("the score gives no tempo", "a tempo or a metronome mark")


@rule("instrument-id", Severity.ERROR, parts)
def instrument_id(part: PagePart) -> Flaws:
    """A note names an instrument that the part does not declare.

    The first note of each in each measure.
    """
    if part.declared is None:
        return
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
