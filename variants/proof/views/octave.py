"""Whole staves that stand an octave off, by the evidence of their frets.

The same evidence that `variants.musicxml.octave` moves a part by: the place of most notes sounds a
whole number of octaves away from the pitch that stands beside it.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from variants.proof.page import Head, Page, PagePart
from variants.proof.views.strings import fret_sound, instrument_of

OCTAVE = 12


@dataclass(frozen=True, slots=True)
class Slipped:
    """A staff that is off.

    Args:
        part: The part.
        staff: The staff.
        semitones: What to add to its pitches so that they sound what its frets do.
        notes: How many notes say so.
        first: The first of them.
        assumed: Whether the tuning is only assumed.
    """

    part: PagePart
    staff: int
    semitones: int
    notes: int
    first: Head
    assumed: bool


def slips(page: Page) -> dict[tuple[PagePart, int], Slipped]:
    """Return the staves that are off as a whole."""
    known = page.views.get("slips")
    if known is None:
        known = page.views["slips"] = {
            (one.part, one.staff): one for part in page.parts for one in _of_part(part)
        }
    return known  # type: ignore[return-value]


def slip_of(page: Page, head: Head) -> int:
    """Return what to add to a note's pitch because its whole staff is off."""
    found = slips(page)
    if not found:
        return 0
    one = found.get((head.bar.part, head.staff))
    return one.semitones if one else 0


def _of_part(part: PagePart) -> list[Slipped]:
    staves: dict[int, list[tuple[int | Fraction, Head]]] = {}
    assumed = False
    for head in part.placed:
        instrument = instrument_of(head)
        if instrument is None or head.sounding is None or head.is_harmonic or head.bend:
            continue
        sound = fret_sound(instrument, head)
        if sound is not None:
            assumed = instrument.assumed
            staves.setdefault(head.staff, []).append((sound - head.sounding, head))
    found = []
    for staff, differences in staves.items():
        counts = Counter(difference for difference, _ in differences)
        best, count = max(counts.items(), key=lambda item: (item[1], -abs(float(item[0]))))
        if best and best % OCTAVE == 0 and 2 * count > len(differences):
            first = next(head for difference, head in differences if difference == best)
            found.append(Slipped(part, staff, int(best), count, first, assumed))
    return found
