"""The immutable score.

Times are whole ticks; `Score.ticks` of them make a quarter. Onsets are counted from the start
of the measure. Pitches are sounding ones. What the model does not interpret travels along as
XML text at its place and is written back.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TypeVar

from variants.music import NoteValue, Pitch
from variants.score.instrument import Instrument, Place
from variants.score.quick import quick
from variants.score.signs import Attributes, Barline, Carried, Direction, Extra, Harmony


@dataclass(frozen=True, slots=True)
class Mark:
    """One child of MusicXML ``notations``: a slur, a staccato, a bend.

    Args:
        family: ``slur``, ``tuplet``, ``glissando``, ``slide``, ``dynamics``, ``fermata`` and so on,
            or the group ``technical``, ``articulations``, ``ornaments``.
        name: The element itself; the same as ``family`` outside the groups.
        role: ``start``, ``stop``, ``continue`` or empty, for marks that span notes.
        number: The number that tells overlapping spans apart.
        xml: The element as XML text.
    """

    family: str
    name: str
    role: str
    number: str
    xml: str


@dataclass(frozen=True, slots=True)
class Lyric:
    """One syllable of one verse.

    Args:
        number: Verse, as the source names it.
        syllabic: ``single``, ``begin``, ``middle``, ``end`` or empty.
        text: What is sung, without elisions marked; may be empty (an extender alone).
        xml: The children of the lyric as XML text, exactly as they stood.
        name: Name of the lyric line; ours is ``counting`` for syllables that count.
        looks: Its other attributes as XML text.
    """

    number: str
    syllabic: str
    text: str
    xml: str
    name: str = ""
    looks: str = ""


@quick
@dataclass(frozen=True, slots=True)
class Note:
    """One note of an event.

    Args:
        pitch: Sounding pitch; ``None`` for an unpitched (percussion) note.
        tie_stop: A tie ends here: the note is held over and not struck again.
        tie_start: A tie begins here.
        place: Place on the neck, if one is set.
        finger: Fretting finger ``1``-``4``, ``0`` open, ``T`` thumb; empty if unset.
        pluck: Plucking finger (``p i m a c``); empty if unset.
        accidental: How the source printed the accidental: empty (not at all), ``shown``,
            ``cautionary``, ``editorial``, ``parentheses`` or ``bracket``.
        staff: Staff of this note where it differs from the event's; 0 otherwise.
        marks: Marks that belong to this note alone (bends, slides, ...).
        extras: What is only carried.
    """

    pitch: Pitch | None
    tie_stop: bool = False
    tie_start: bool = False
    place: Place | None = None
    finger: str = ""
    pluck: str = ""
    accidental: str = ""
    staff: int = 0
    marks: tuple[Mark, ...] = ()
    extras: tuple[Extra, ...] = ()


@quick
@dataclass(frozen=True, slots=True)
class Event:
    """Notes that begin together in one voice, or a rest.

    Args:
        onset: Ticks from the start of the measure.
        duration: Ticks that it lasts; 0 for a grace note.
        value: The note value as printed.
        notes: The notes in the order of the source; none for a rest.
        staff: Staff in the part, from 1.
        grace: Attributes of a grace note as pairs; ``None`` for an ordinary one.
        is_cue: Printed small, not played.
        is_measure_rest: A rest that stands for the whole measure.
        stem: MusicXML stem value; empty if the source does not say.
        beams: Beam values, the primary beam first.
        marks: Marks of the event as a whole (slurs, tuplets, articulations, ...).
        lyrics: Its syllables.
        extras: What is only carried.
    """

    onset: int
    duration: int
    value: NoteValue
    notes: tuple[Note, ...] = ()
    staff: int = 1
    grace: tuple[tuple[str, str], ...] | None = None
    is_cue: bool = False
    is_measure_rest: bool = False
    stem: str = ""
    beams: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    lyrics: tuple[Lyric, ...] = ()
    extras: tuple[Extra, ...] = ()

    @property
    def is_rest(self) -> bool:
        """Whether nothing sounds."""
        return not self.notes

    @property
    def end(self) -> int:
        """Tick in the measure at which the event is over."""
        return self.onset + self.duration

    @property
    def is_struck(self) -> bool:
        """Whether at least one pitched note begins here, rather than being held by a tie."""
        return any(note.pitch is not None and not note.tie_stop for note in self.notes)


@quick
@dataclass(frozen=True, slots=True)
class Voice:
    """One voice of a measure; gaps between its events are silent and not printed."""

    id: str
    events: tuple[Event, ...]


@quick
@dataclass(frozen=True, slots=True)
class Measure:
    """One measure of one part.

    Args:
        number: As printed.
        length: Ticks that it really lasts, which a pick-up makes less than its metre.
        voices: Its voices in the order of the source.
        is_implicit: Not counted: a pick-up or the second half of a split measure.
        attributes: Changes of key, metre, clef, tuning, in order of time.
        barlines: Barlines that are more than plain.
        harmonies: Chord symbols in order of time.
        directions: Directions in order of time.
        carried: What is only carried.
    """

    number: str
    length: int
    voices: tuple[Voice, ...] = ()
    is_implicit: bool = False
    attributes: tuple[Attributes, ...] = ()
    barlines: tuple[Barline, ...] = ()
    harmonies: tuple[Harmony, ...] = ()
    directions: tuple[Direction, ...] = ()
    carried: tuple[Carried, ...] = ()

    @property
    def events(self) -> list[Event]:
        """Its events, voice by voice."""
        return [event for voice in self.voices for event in voice.events]


View = TypeVar("View")
# Where an event and a note stand: measure, voice, event, note, each counted from 0.
EventKey = tuple[int, int, int]
NoteKey = tuple[int, int, int, int]


class _Kept:
    """What is computed of a value once stays with it, in a slot that is no field.

    It is not compared, copied or pickled, and is gone with the value.
    """

    __slots__ = ("_shelf",)
    _shelf: dict[object, object]

    def kept(self, kind: Callable[..., View], *given: int) -> View:
        """Return a view of this value, made when it is first asked for.

        Args:
            kind: The type of the view, called with this value and what is given.
            given: Such as the ticks in a quarter.
        """
        try:
            shelf = self._shelf
        except AttributeError:
            shelf = {}
            object.__setattr__(self, "_shelf", shelf)
        found = shelf.get((kind, *given))
        if found is None:
            found = shelf[kind, *given] = kind(self, *given)
        return found  # type: ignore[return-value]


@dataclass(frozen=True, slots=True)
class Part(_Kept):
    """One part.

    Args:
        id: Part id in the file.
        name: Name as printed.
        measures: Its measures.
        instrument: The fretted instrument; ``None`` for a part that is not for one.
        staves: Number of staves of the source.
        abbreviation: Short name.
        midi_program: General MIDI program 1-128, 0 if not given.
        layout: How a fretted part stood in its source: ``notation``, ``tab`` or ``both``; empty for
            a part that keeps its own clefs and staves.
        carried: Further children of ``score-part`` as (name, XML text).
    """

    id: str
    name: str
    measures: tuple[Measure, ...]
    instrument: Instrument | None = None
    staves: int = 1
    abbreviation: str = ""
    midi_program: int = 0
    layout: str = ""
    carried: tuple[Extra, ...] = ()


@dataclass(frozen=True, slots=True)
class Change:
    """One line of the change log.

    Args:
        message: What happened and why, in plain words.
        step: Name of the step or mark, or ``read`` and ``write``.
        measure: Printed number, empty when it is about the whole score.
        beat: Beat in the measure as text, empty if none.
        part: Part id, empty if none.
    """

    message: str
    step: str
    measure: str = ""
    beat: str = ""
    part: str = ""

    def __str__(self) -> str:
        place = ", ".join(
            text
            for text in (
                f"measure {self.measure}" if self.measure else "",
                f"beat {self.beat}" if self.beat else "",
            )
            if text
        )
        return f"{place}: {self.message}" if place else self.message


@dataclass(frozen=True, slots=True)
class Score(_Kept):
    """A whole score.

    Args:
        ticks: Ticks in a quarter.
        parts: Its parts.
        title: Title to print: the movement title, else the work title.
        work_title: As in the file.
        movement_title: As in the file.
        creators: (type, name) pairs: composer, lyricist, arranger.
        rights: (type, text) pairs.
        source: The source line of the identification.
        carried: Other header children as (name, XML text), and part groups by place.
        changes: What reading and the steps so far changed, dropped or assumed.
    """

    ticks: int
    parts: tuple[Part, ...]
    work_title: str = ""
    movement_title: str = ""
    creators: tuple[tuple[str, str], ...] = ()
    rights: tuple[tuple[str, str], ...] = ()
    source: str = ""
    carried: tuple[Extra, ...] = ()
    changes: tuple[Change, ...] = field(default=(), compare=False)

    def __repr__(self) -> str:
        measures = max((len(part.measures) for part in self.parts), default=0)
        counts = ((len(self.parts), "part"), (measures, "measure"))
        texts = (f"{number} {noun}{'s' * (number != 1)}" for number, noun in counts)
        return f"Score({', '.join((repr(self.title), *texts))})"

    @property
    def title(self) -> str:
        """Title to print."""
        return self.movement_title or self.work_title
