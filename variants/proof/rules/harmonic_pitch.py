"""Natural harmonics against the note that their string gives."""

from __future__ import annotations

from collections.abc import Iterator

from variants.music import Key, spelled
from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.octave import slip_of
from variants.proof.views.strings import instrument_of

# Semitones above the open string that sound where a fret is touched: the string divides in two,
# three, four or five (2, 3, 4 and 5 times its frequency; 28 is within a seventh of a semitone).
SOUNDS = {12: 12, 7: 19, 19: 19, 5: 24, 24: 24, 4: 28, 9: 28, 16: 28}


@rule("harmonic-pitch", Severity.WARNING, "a natural harmonic is no note of its string and fret")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the harmonics whose pitch is neither what sounds nor what is touched.

    Octaves are left alone: harmonics are written at the touched fret, at the sound, or an octave
    off either.
    """
    for part in page.parts:
        for head in part.placed:
            instrument = instrument_of(head)
            sounding = head.sounding
            if not _is_natural(head) or instrument is None or sounding is None:
                continue
            sound = SOUNDS.get(head.fret)
            if sound is None or head.string > instrument.strings:
                continue
            low = instrument.open_midi[head.string - 1]
            classes = {(low + sound) % 12, (low + head.fret) % 12}
            if (sounding + slip_of(page, head)) % 12 not in classes:
                yield at_head(
                    head,
                    f"the harmonic at fret {head.fret} of string {head.string} is written as "
                    f"{head.pitch}",
                    expected=str(spelled(low + sound, Key(0))),
                )


def _is_natural(head: Head) -> bool:
    return (
        head.is_harmonic and head.element.find("notations/technical/harmonic/natural") is not None
    )
