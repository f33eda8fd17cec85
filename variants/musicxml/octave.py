"""Which octave a part sounds in, where the file leaves it open.

A guitar sounds an octave below its treble-clef notation. A file says so with ``transpose`` or with
an octave clef; many say neither. Then frets, where there are any, prove the octave; else a plain
treble clef is read as guitarists read it.
"""

from __future__ import annotations

from dataclasses import replace
from enum import Enum

from variants.errors import UsageError
from variants.music import Key, spelled
from variants.musicxml.fretted import clefs_of, is_named_guitar
from variants.score import (
    Attributes,
    Change,
    Instrument,
    MeasureView,
    Note,
    Part,
    Score,
    beat_text,
    map_notes,
    measures,
    notes,
)

OCTAVE = 12


class Reading(Enum):
    """How a plain treble clef sounds.

    ``auto``: frets decide; without frets a guitar part, or the only part, sounds an octave
    lower than written. ``guitar``: an octave lower. ``concert``: as written.
    """

    AUTO = "auto"
    GUITAR = "guitar"
    CONCERT = "concert"

    @classmethod
    def parse(cls, text: Reading | str) -> Reading:
        """Return the reading of a name.

        Raises:
            UsageError: There is no such reading.
        """
        if isinstance(text, Reading):
            return text
        for one in cls:
            if one.value == text:
                return one
        raise UsageError(f"there is no reading {text!r}", way_out="use auto, guitar or concert")


def settle_octaves(score: Score, reading: Reading) -> Score:
    """Return the score with every part at its sounding octave; what was assumed is logged."""
    parts, changes = [], list(score.changes)
    for part in score.parts:
        settled, message = _settled(part, reading, only=len(score.parts) == 1)
        if message:
            changes.append(Change(message, "read", part=part.id))
        checked, lost = _check_places(settled, score.ticks)
        parts.append(checked)
        changes += lost
    return replace(score, parts=tuple(parts), changes=tuple(changes))


def states_octave(part: Part) -> bool:
    """Whether the file itself says at which octave a part sounds."""
    for measure in part.measures:
        for change in measure.attributes:
            if change.transpositions:
                return True
            if any(c.octave_change or c.sign not in ("G", "TAB") for c in change.clefs):
                return True
    return False


def _settled(part: Part, reading: Reading, *, only: bool) -> tuple[Part, str]:
    shift, reason = _shift(part, reading, only=only)
    part = replace(part, octave_stated=True)
    if not shift:
        return part, reason
    moved = map_notes(part, lambda note: _moved(note, shift // OCTAVE))
    if shift == -OCTAVE:
        moved = replace(
            moved,
            measures=tuple(
                replace(m, attributes=tuple(map(_octave_clef, m.attributes)))
                for m in moved.measures
            ),
        )
    return moved, reason


def _moved(note: Note, octaves: int) -> Note:
    if note.pitch is None:
        return note
    return replace(note, pitch=note.pitch.moved_octaves(octaves))


def _octave_clef(change: Attributes) -> Attributes:
    if not change.clefs:
        return change
    return replace(
        change,
        clefs=tuple(
            replace(clef, octave_change=-1) if clef.sign == "G" else clef for clef in change.clefs
        ),
    )


def _shift(part: Part, reading: Reading, *, only: bool) -> tuple[int, str]:
    """Return semitones to add to the pitches as read, and what to say about it."""
    proved = _shift_by_frets(part, part.instrument)
    if proved is not None and reading is Reading.AUTO:
        if proved == 0:
            return 0, ""
        return proved, (
            f"string and fret show that the part sounds {_octaves(proved)} than its pitches say; "
            "it was moved there"
        )
    if part.octave_stated and states_octave(part):
        return 0, ""
    if not _has_treble(part) or reading is Reading.CONCERT:
        return 0, ""
    if reading is Reading.AUTO and not (only or part.instrument or is_named_guitar(part)):
        return 0, ""
    return -OCTAVE, (
        "the plain treble clef was read as guitarists read it, sounding an octave lower than "
        "written (--reading concert takes it as written)"
    )


def _octaves(semitones: int) -> str:
    count = abs(semitones) // OCTAVE
    word = "an octave" if count == 1 else f"{count} octaves"
    return f"{word} {'lower' if semitones < 0 else 'higher'}"


def _has_treble(part: Part) -> bool:
    signs = {clef.sign for clef in clefs_of(part)}
    return not signs or (signs <= {"G", "TAB"} and "G" in signs)


def _shift_by_frets(part: Part, instrument: Instrument | None) -> int | None:
    """Return the whole octaves by which most places differ from their pitches, in semitones."""
    if instrument is None:
        return None
    counts: dict[int, int] = {}
    for note in notes(part):
        if note.place is None or note.pitch is None:
            continue
        sounding = instrument.sounding(note.place)
        if sounding is not None:
            difference = sounding - note.pitch.midi
            counts[difference] = counts.get(difference, 0) + 1
    if not counts:
        return None
    best = max(counts, key=lambda shift: (counts[shift], -abs(shift)))
    if best % OCTAVE or counts[best] * 2 <= sum(counts.values()):
        return None
    return best


def _check_places(part: Part, ticks: int) -> tuple[Part, list[Change]]:
    """Drop places that do not sound their pitch: the notation wins, and the log says so."""
    instrument = part.instrument
    if instrument is None or not any(note.place for note in notes(part)):
        return part, []
    changes: list[Change] = []
    done = []
    for view in measures(part):
        measure = view.measure
        voices = []
        for voice in measure.voices:
            events = []
            for event in voice.events:
                beat = beat_text(view, event.onset, ticks)
                kept = tuple(_checked(note, view, beat, part, changes) for note in event.notes)
                events.append(event if kept == event.notes else replace(event, notes=kept))
            voices.append(replace(voice, events=tuple(events)))
        done.append(replace(measure, voices=tuple(voices)))
    return replace(part, measures=tuple(done)), changes


def _checked(note: Note, view: MeasureView, beat: str, part: Part, changes: list[Change]) -> Note:
    instrument = part.instrument
    if note.place is None or note.pitch is None or instrument is None:
        return note
    sounding = instrument.sounding(note.place)
    # A harmonic sounds elsewhere than its fret.
    if sounding == note.pitch.midi or any(mark.name == "harmonic" for mark in note.marks):
        return note
    says = "which the instrument does not have" if sounding is None else _named(sounding)
    fret_wins = part.layout == "tab" and sounding is not None
    message = (
        f"the tab says {note.place} ({says}), its pitch {note.pitch}; there is no notation "
        "staff, so the fret was kept"
        if fret_wins
        else f"the tab says {note.place} ({says}), the notation {note.pitch}; the notation was kept"
    )
    changes.append(Change(message, "read", view.measure.number, beat, part.id))
    if fret_wins and sounding is not None:
        return replace(note, pitch=spelled(sounding, view.key), extras=())
    return replace(note, place=None)


def _named(midi: int) -> str:
    return str(spelled(midi, Key(0)))
