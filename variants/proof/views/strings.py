"""Which strings a note with a place is played on."""

from __future__ import annotations

from collections.abc import Callable

from variants.proof.page import Head, Page, PagePart
from variants.score import STANDARD_GUITAR, Instrument


def instrument_of(page: Page, head: Head) -> Instrument | None:
    """Return the instrument in force at a note.

    A tuning of its own staff comes first, then one of its part. Without any, six lines (or an
    unstated number of them) mean the standard guitar, marked as assumed; other numbers of lines
    mean nothing certain.
    """
    find = page.views.get(("strings", head.bar.part.id, head.staff, id(head.bar.part)))
    if find is None:
        find = _finder(head.bar.part, head.staff)
        page.views["strings", head.bar.part.id, head.staff, id(head.bar.part)] = find
    return find(head.moment)  # type: ignore[operator, no-any-return]


def _finder(part: PagePart, staff: int) -> Callable[[int], Instrument | None]:
    own = [one for one in part.strings if one.staff == staff]
    if not any(one.instrument for one in own):
        others = [one for one in part.strings if one.instrument is not None]
        own = others or own
    tuned = [(one.moment, one.instrument) for one in own if one.instrument is not None]
    if not tuned:
        lines = next((one.lines for one in own if one.lines), 6)
        assumed = STANDARD_GUITAR if lines == 6 else None
        return lambda _: assumed
    if len(tuned) == 1:
        only = tuned[0][1]
        return lambda _: only

    def find(moment: int) -> Instrument | None:
        now = tuned[0][1]
        for start, instrument in tuned:
            if start <= moment:
                now = instrument
        return now

    return find


def fret_sound(instrument: Instrument, head: Head) -> int | None:
    """Return the MIDI number at the place of a note, however high; ``None`` without a string."""
    if not 1 <= head.string <= instrument.strings or head.fret < 0:
        return None
    return instrument.open_midi[head.string - 1] + head.fret
