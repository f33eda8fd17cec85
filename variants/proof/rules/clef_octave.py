"""Guitar staves whose clef does not say that they sound an octave lower."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_bar
from variants.proof.page import Page, PagePart
from variants.proof.registry import rule
from variants.proof.views.doubling import doublings
from variants.proof.views.octave import slips
from variants.score import STANDARD_GUITAR

# Instruments whose lowest string is at least a G3 are read as they sound (mandolin, ukulele).
AS_WRITTEN_FROM = 55


@rule("clef-octave", Severity.WARNING, "a guitar staff does not say that it sounds an octave lower")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the plain treble clefs of guitar staves without a transposition.

    A staff that is told to be an octave off as a whole has that finding already.
    """
    told = set(slips(page)) | {one.notation for one in doublings(page) if one.shift}
    for part in page.parts:
        if not part.is_fretted or part.transposes or not _is_low(part):
            continue
        for staff in sorted(part.used_staves - part.tab_staves):
            clefs = [clef for clef in part.clefs if clef.staff == staff]
            if (part, staff) in told or not clefs:
                continue
            if all(clef.sign == "G" and not clef.octave_change for clef in clefs):
                yield at_bar(
                    clefs[0].bar, f"staff {staff} has a plain treble clef and no transposition: "
                    "programs will sound it an octave too high or print it an octave too low",
                    expected="a clef with an 8 below, or <transpose>", element=clefs[0].element,
                )  # fmt: skip


def _is_low(part: PagePart) -> bool:
    instrument = next((one.instrument for one in part.strings if one.instrument), STANDARD_GUITAR)
    return min(instrument.open_midi) < AS_WRITTEN_FROM
