"""Chord names under the notes, from the chord symbols of the score only.

With a capo ``shape`` names what the hand holds: a D over the second fret is held as a C.
"""

from __future__ import annotations

from variants.marks.lines import CHORDS, Where, with_line
from variants.marks.marking import Choice, MarkJob
from variants.marks.moments import State, moments
from variants.music.chordtext import chord_text
from variants.music.pitch import fifths_of, name_at_fifths
from variants.score import Harmony, Part

CHOICES = (
    Choice("name", ("sounding", "shape"), "the chord that sounds, or the one held over the capo"),
    Choice("where", ("changes", "each"), "at each change, or under each stroke"),
)
_SEMITONE_IN_FIFTHS = 7
# Names from Ab to F# are the usual ones for shapes.
_USUAL_FIFTHS = range(-4, 7)


def put_chords(job: MarkJob) -> Part:
    """Return the part with a line of chord names."""
    instrument = job.part.instrument
    held = job.chosen.get("name") == "shape" and instrument is not None
    capo = instrument.capo if held and instrument is not None else 0
    each = job.chosen.get("where") == "each"
    texts: dict[Where, tuple[str]] = {}
    name, is_new = "", False
    for index, measure in enumerate(job.part.measures):
        waiting = sorted(measure.harmonies, key=lambda one: one.onset)
        for moment in moments(measure):
            while waiting and waiting[0].onset <= moment.tick:
                changed = chord_name(waiting.pop(0), capo)
                name, is_new = changed or name, bool(changed) or is_new
            struck = moment.state is State.STRUCK
            if name and (is_new or (each and struck)):
                texts[index, moment.voice, moment.event] = (name,)
                is_new = False
        for one in waiting:
            changed = chord_name(one, capo)
            name, is_new = changed or name, bool(changed) or is_new
    return with_line(job.part, CHORDS, texts)


def chord_name(harmony: Harmony, capo: int = 0) -> str:
    """Return the name of a chord; empty for a symbol that the model does not read.

    >>> chord_name(Harmony(0, ("F", 1), "minor-seventh", bass=("E", 0)))
    'F♯m7/E'
    >>> chord_name(Harmony(0, ("D", 0), "power"), capo=2)
    'C5'
    """
    if harmony.xml:
        return ""
    return chord_text(
        _held(harmony.root, capo),
        harmony.kind,
        degrees=harmony.degrees,
        bass=_held(harmony.bass, capo),
        text=harmony.text,
    )


def _held(name: tuple[str, int] | None, capo: int) -> tuple[str, int] | None:
    """Return the name of a note as the hand holds it over a capo."""
    if name is None or not capo:
        return name
    fifths = fifths_of(*name) - capo * _SEMITONE_IN_FIFTHS
    letter, alter = name_at_fifths(next(one for one in _USUAL_FIFTHS if (one - fifths) % 12 == 0))
    return letter, alter
