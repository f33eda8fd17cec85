"""Which octave a part sounds in, where the file leaves it open.

A guitar sounds an octave below its treble-clef notation. A file says so with ``transpose`` or with
an octave clef; many say neither. Then frets, where there are any, prove the octave; else a plain
treble clef is read as guitarists read it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from enum import Enum

from variants.errors import UsageError
from variants.music import Key, spelled
from variants.musicxml.fretted import clefs_of, is_named_guitar
from variants.score import (
    Attributes,
    Change,
    Clef,
    Event,
    Instrument,
    MeasureView,
    Note,
    Part,
    Place,
    Score,
    Transposition,
    map_measure_events,
    map_notes,
    measures,
    with_notes,
    with_pitch,
)
from variants.score.strung import strings_at, strings_in_force

OCTAVE = 12
# So many places are no slip of the pen. Our own choice: a short exercise has three notes.
_WITNESSES = 3


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
    if all(new is old for new, old in zip(parts, score.parts, strict=True)):
        return score
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


def with_stated_octave(part: Part, *, only: bool) -> Part:
    """Return the part so that it is read at the octave at which it sounds.

    A plain treble clef that sounds as written gets a transposition by nothing where it would
    else be taken for a guitar's.

    Args:
        part: The part.
        only: Whether it is the only one of its score.
    """
    if not part.measures or states_octave(part) or not _shift(part, Reading.AUTO, only=only)[0]:
        return part
    return _with_first(part, lambda one: replace(one, transpositions=(Transposition(),)))


def _with_first(part: Part, change: Callable[[Attributes], Attributes]) -> Part:
    """Return the part with its first attributes changed; they are made if it has none."""
    first, *rest = part.measures
    attributes = first.attributes
    if not attributes or attributes[0].onset:
        attributes = (Attributes(0), *attributes)
    first = replace(first, attributes=(change(attributes[0]), *attributes[1:]))
    return replace(part, measures=(first, *rest))


def _settled(part: Part, reading: Reading, *, only: bool) -> tuple[Part, str]:
    shift, reason = _shift(part, reading, only=only)
    if not shift:
        return part, reason
    moved = map_notes(part, lambda note: _moved(note, shift // OCTAVE))
    if shift == -OCTAVE and not clefs_of(part):
        clef = Clef("G", 2, -1)
        return _with_first(moved, lambda one: replace(one, clefs=(clef,))), reason
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
    return with_pitch(note, note.pitch.moved_octaves(octaves))


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
    proved = _shift_by_frets(part)
    if proved is not None and reading is Reading.AUTO:
        if proved == 0:
            return 0, ""
        return proved, (
            f"string and fret show that the part sounds {_octaves(proved)} than its pitches say; "
            "it was moved there"
        )
    if states_octave(part):
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


def _shift_by_frets(part: Part) -> int | None:
    """Return the whole octaves by which the places differ from their pitches, in semitones.

    A few slips prove nothing: so many places as `_WITNESSES` must agree, or every note of a part
    that has fewer, and three in four of all the places.
    """
    if part.instrument is None:
        return None
    counts: Counter[int] = Counter()
    pitched = 0
    for event, neck in _events_on_necks(part):
        for note in event.notes:
            if note.pitch is None:
                continue
            pitched += 1
            sounding = None if note.place is None else neck.sounding(note.place)
            if sounding is not None and not _is_harmonic(note):
                counts[sounding - note.pitch.midi] += 1
    if not counts:
        return None
    best = max(counts, key=lambda shift: (counts[shift], -abs(shift)))
    agreed = counts[best]
    if best % OCTAVE or agreed * 4 < 3 * counts.total() or agreed < min(pitched, _WITNESSES):
        return None
    return best


def _events_on_necks(part: Part) -> Iterator[tuple[Event, _Neck]]:
    """Yield each event with the strings that are in force there."""
    last: Instrument | None = None
    necks: dict[Instrument, _Neck] = {}
    neck: _Neck | None = None
    for measure, here in strings_in_force(part):
        for event in measure.events:
            now = strings_at(here, event.onset)
            if now is not last and now is not None:
                last, neck = now, necks.setdefault(now, _Neck(now))
            if neck is not None:
                yield event, neck


class _Neck:
    """What sounds at each place of an instrument, looked up once for each place."""

    def __init__(self, instrument: Instrument) -> None:
        self.instrument = instrument
        self.known: dict[Place, int | None] = {}

    def sounding(self, place: Place) -> int | None:
        try:
            return self.known[place]
        except KeyError:
            found = self.known[place] = self.instrument.sounding(place)
            return found


def _check_places(part: Part, ticks: int) -> tuple[Part, list[Change]]:
    """Drop places that do not sound their pitch: the notation wins, and the log says so."""
    if part.instrument is None:
        return part, []
    wrong = {
        id(event): neck
        for event, neck in _events_on_necks(part)
        if not all(_is_right(note, neck) for note in event.notes)
    }
    if not wrong:
        return part, []
    changes: list[Change] = []
    done = []
    for view in measures(part, ticks):

        def mended(event: Event, view: MeasureView = view) -> Event:
            neck = wrong.get(id(event))
            if neck is None:
                return event
            where = _Where(part, view, view.beat_text(event.onset), neck)
            return with_notes(event, tuple(_mended(note, where, changes) for note in event.notes))

        done.append(map_measure_events(view.measure, mended))
    return replace(part, measures=tuple(done)), changes


def _is_right(note: Note, neck: _Neck) -> bool:
    """Whether a note has no place on the neck, or one that sounds its pitch."""
    place = note.place
    if place is None:
        return True
    if note.pitch is None:
        return bool(note.extras)  # an unpitched note carries its sign
    # A harmonic sounds elsewhere than its fret.
    return neck.sounding(place) == note.pitch.midi or _is_harmonic(note)


def _is_harmonic(note: Note) -> bool:
    return any(mark.name == "harmonic" for mark in note.marks)


@dataclass(frozen=True, slots=True)
class _Where:
    """Where a note stands that is mended."""

    part: Part
    view: MeasureView
    beat: str
    neck: _Neck


def _mended(note: Note, where: _Where, changes: list[Change]) -> Note:
    if note.place is None or _is_right(note, where.neck):
        return note
    sounding = where.neck.sounding(note.place)
    if note.pitch is None:
        if sounding is None:
            return replace(note, place=None)
        return replace(note, pitch=spelled(sounding, where.view.key))
    says = "which the instrument does not have" if sounding is None else _named(sounding)
    fret_wins = where.part.layout == "tab" and sounding is not None
    message = (
        f"the tab says {note.place} ({says}), its pitch {note.pitch}; there is no notation "
        "staff, so the fret was kept"
        if fret_wins
        else f"the tab says {note.place} ({says}), the notation {note.pitch}; the notation was kept"
    )
    number = where.view.measure.number
    changes.append(Change(message, "read", number, where.beat, where.part.id))
    if fret_wins and sounding is not None:
        return replace(note, pitch=spelled(sounding, where.view.key), extras=())
    return replace(note, place=None)


def _named(midi: int) -> str:
    return str(spelled(midi, Key(0)))
