"""Which strings a note with a place is played on, and staves that are an octave off their frets."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from fractions import Fraction

from variants.proof.page import Head, PagePart, view
from variants.proof.scan_attributes import MOST_FRETS
from variants.score import STANDARD_GUITAR, Instrument


@dataclass(frozen=True, slots=True)
class StrungNeck:
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


def instrument_of(head: Head) -> StrungNeck | None:
    """Return the instrument in force at a note.

    A tuning of its own staff comes first, then one of its part. Without any, six lines (or an
    unstated number of them) mean the standard guitar, marked as assumed; other numbers of lines
    mean nothing certain.
    """
    changes = _stringings(head.bar.part)[head.staff]
    if len(changes) < 2:
        return changes[0][1] if changes else None
    now = changes[0][1]
    for start, strung in changes:
        if start <= head.moment:
            now = strung
    return now


@view
def _stringings(part: PagePart) -> dict[int, list[tuple[int, StrungNeck]]]:
    """Return for each staff how it is strung from which tick of the part on."""
    return {staff: _stringing(part, staff) for staff in part.used_staves}


def _stringing(part: PagePart, staff: int) -> list[tuple[int, StrungNeck]]:
    own = [one for one in part.strings if one.staff == staff]
    if not any(one.instrument for one in own):
        own = [one for one in part.strings if one.instrument is not None] or own
    tuned = [(one.moment, _neck_of(one.instrument)) for one in own if one.instrument is not None]
    lines = next((one.lines for one in own if one.lines), 6)
    if tuned or lines != 6:
        return tuned
    return [(0, _neck_of(STANDARD_GUITAR))]


def _neck_of(instrument: Instrument) -> StrungNeck:
    return StrungNeck(instrument.open_midi, instrument.capo, instrument.assumed)


def fret_sound(instrument: StrungNeck, head: Head) -> int | None:
    """Return the MIDI number at the place of a note, however high; ``None`` without a string."""
    open_midi = instrument.open_midi
    if head.fret < 0 or not 1 <= head.string <= len(open_midi):
        return None
    return open_midi[head.string - 1] + head.fret


OCTAVE = 12


@dataclass(frozen=True, slots=True)
class Slipped:
    """A staff that is off.

    Args:
        staff: The staff.
        semitones: What to add to its pitches so that they sound what its frets do.
        notes: How many notes say so.
        first: The first of them.
        assumed: Whether the tuning is only assumed.
    """

    staff: int
    semitones: int
    notes: int
    first: Head
    assumed: bool


def slip_of(head: Head) -> int:
    """Return what to add to a note's pitch because its whole staff is off."""
    off = octave_slips(head.bar.part)
    return off[head.staff].semitones if head.staff in off else 0


@view
def octave_slips(part: PagePart) -> dict[int, Slipped]:
    """Return the staves of a part that are off as a whole.

    The same evidence that `variants.musicxml.octave` moves a part by: the place of most notes
    sounds a whole number of octaves away from the pitch that stands beside it.
    """
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
    found = {}
    for staff, differences in staves.items():
        counts = Counter(difference for difference, _ in differences)
        best, count = max(counts.items(), key=lambda item: (item[1], -abs(float(item[0]))))
        if best and best % OCTAVE == 0 and 2 * count > len(differences):
            first = next(head for difference, head in differences if difference == best)
            found[staff] = Slipped(staff, int(best), count, first, assumed)
    return found
