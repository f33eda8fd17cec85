"""Chord names under the notes, from the chord symbols of the score only.

With a capo ``shape`` names what the hand holds: a D over the second fret is held as a C.
"""

from __future__ import annotations

from variants.marks.lines import CHORDS, with_line
from variants.marks.marking import Choice, MarkJob
from variants.marks.moments import State, moments
from variants.score import EventKey, Part
from variants.score.symbols import symbol_name

CHOICES = (
    Choice("name", ("sounding", "shape"), "the chord that sounds, or the one held over the capo"),
    Choice("where", ("changes", "each"), "at each change, or under each stroke"),
)


def put_chords(job: MarkJob) -> Part:
    """Return the part with a line of chord names."""
    instrument = job.part.instrument
    held = job.chosen.get("name") == "shape" and instrument is not None
    capo = instrument.capo if held and instrument is not None else 0
    each = job.chosen.get("where") == "each"
    texts: dict[EventKey, tuple[str]] = {}
    name, is_new = "", False
    for index, measure in enumerate(job.part.measures):
        waiting = sorted(measure.harmonies, key=lambda one: one.onset)
        for moment in moments(measure):
            while waiting and waiting[0].onset <= moment.tick:
                changed = symbol_name(waiting.pop(0), capo)
                name, is_new = changed or name, bool(changed) or is_new
            struck = moment.state is State.STRUCK
            if name and (is_new or (each and struck)):
                texts[index, moment.voice, moment.event] = (name,)
                is_new = False
        for one in waiting:
            changed = symbol_name(one, capo)
            name, is_new = changed or name, bool(changed) or is_new
    return with_line(job.part, CHORDS, texts)
