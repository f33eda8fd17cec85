"""Which strings a note with a place is played on."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from variants.proof.page import Head, PagePart
from variants.proof.scan_attributes import MOST_FRETS
from variants.score import STANDARD_GUITAR, Instrument


@dataclass(frozen=True, slots=True)
class Strung:
    """An instrument as rules ask for it, with its strings counted once.

    Args:
        open_midi: MIDI number of each open string behind the capo, string 1 first.
        capo: Fret of the capo, 0 for none.
        assumed: Whether the file does not say and the standard guitar is supposed.
    """

    open_midi: tuple[int, ...]
    capo: int
    assumed: bool

    @property
    def strings(self) -> int:
        """Number of strings."""
        return len(self.open_midi)

    @property
    def top_fret(self) -> int:
        """Highest fret of a long neck, counted from the capo."""
        return MOST_FRETS - self.capo


Find = Callable[[int], Strung | None]


def instrument_of(head: Head) -> Strung | None:
    """Return the instrument in force at a note.

    A tuning of its own staff comes first, then one of its part. Without any, six lines (or an
    unstated number of them) mean the standard guitar, marked as assumed; other numbers of lines
    mean nothing certain.
    """
    part = head.bar.part
    strung = part.strung.get(head.staff, part)
    if strung is part:
        strung = part.strung[head.staff] = _strung_of(part, head.staff)
    return strung(head.moment) if callable(strung) else strung  # type: ignore[return-value]


def _strung_of(part: PagePart, staff: int) -> Find | Strung | None:
    """Return the instrument of a staff, or where it changes how to find it at a moment."""
    own = [one for one in part.strings if one.staff == staff]
    if not any(one.instrument for one in own):
        others = [one for one in part.strings if one.instrument is not None]
        own = others or own
    tuned = [(one.moment, _strung(one.instrument)) for one in own if one.instrument is not None]
    if not tuned:
        lines = next((one.lines for one in own if one.lines), 6)
        return _strung(STANDARD_GUITAR) if lines == 6 else None
    if len(tuned) == 1:
        return tuned[0][1]

    def find(moment: int) -> Strung | None:
        now = tuned[0][1]
        for start, instrument in tuned:
            if start <= moment:
                now = instrument
        return now

    return find


def _strung(instrument: Instrument) -> Strung:
    return Strung(instrument.open_midi, instrument.capo, instrument.assumed)


def fret_sound(instrument: Strung, head: Head) -> int | None:
    """Return the MIDI number at the place of a note, however high; ``None`` without a string."""
    open_midi = instrument.open_midi
    if head.fret < 0 or not 1 <= head.string <= len(open_midi):
        return None
    return open_midi[head.string - 1] + head.fret
