"""The step `drop-ornaments`: the plain notes of a decorated line."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace

from variants.contract import Promise
from variants.music import Interval, NoteValue, Pitch
from variants.music.duration import TYPES
from variants.score import (
    Change,
    Event,
    EventKey,
    Mark,
    Note,
    NoteKey,
    Part,
    Place,
    Score,
    Voice,
    map_keyed,
    timeline,
    with_parts,
)
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice, joined
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.dropping import drop_notes

_NAME = "drop-ornaments"
_GRACE = "grace"
# MusicXML elements of each kind of ornament.
_ELEMENTS: dict[str, frozenset[str]] = {
    "bend": frozenset({"bend"}),
    "slide": frozenset({"slide", "glissando"}),
    "trill": frozenset({"trill-mark", "wavy-line", "accidental-mark", "shake"}),
    "tremolo": frozenset({"tremolo"}),
    "mordent": frozenset({"mordent", "inverted-mordent"}),
    "turn": frozenset(
        {
            *("turn", "delayed-turn", "inverted-turn", "delayed-inverted-turn", "vertical-turn"),
            *("inverted-vertical-turn", "schleifer", "haydn", "other-ornament"),
        }
    ),
    "arpeggio": frozenset({"arpeggiate", "non-arpeggiate"}),
}
KINDS = (_GRACE, *_ELEMENTS)
# What the reader of a handout calls each element.
_WORDS = {
    "trill-mark": "trill",
    "wavy-line": "wavy line",
    "accidental-mark": "trill accidental",
    "inverted-mordent": "mordent",
    "arpeggiate": "arpeggio sign",
    "haydn": "turn",
    "non-arpeggiate": "bracket against rolling",
    "other-ornament": "ornament",
}
_ALTER = re.compile(r"<bend-alter>\s*([-+]?[\d.]+)")
_FAMILIES = frozenset({"ornaments", "technical", "slide", "glissando", "arpeggiate"})


@register(_NAME, examples=("drop-ornaments", "drop-ornaments:kinds=grace+bend"))
@dataclass(frozen=True, slots=True, kw_only=True)
class DropOrnaments(Checked):
    """Take ornaments away: grace notes, bends, slides, trills, tremolos, arpeggio signs.

    The main notes stay as they are, but for a bend: its note is played plain at the pitch to which
    it was bent, on the same string, since that is what was heard; one that is let down again, or
    bent by less than a semitone, at its own. Notes that are the two halves of a tremolo are
    written as the plain notes that they last. Grace notes that are tied to their main note are
    that note struck early; they stay, and the change log says so.
    """

    kinds: tuple[str, ...] = parameter(
        KINDS,
        "which ornaments go",
        joined(choice(*KINDS), f"some of {', '.join(KINDS)}, joined with +"),
    )

    @property
    def keeps(self) -> frozenset[Promise]:
        """What the step promises: every pitch, unless bends become the pitch they go to."""
        times = {Promise.MAIN_ONSETS, Promise.DURATIONS, Promise.MEASURE_LENGTHS}
        return frozenset(times if "bend" in self.kinds else {*times, Promise.SOUNDING_PITCHES})

    def __call__(self, score: Score) -> Score:
        """Return the score without its ornaments."""
        parts: list[Part] = []
        changes: list[Change] = []
        gone = frozenset(name for kind in self.kinds for name in _ELEMENTS.get(kind, ()))
        for source in score.parts:
            log = scribe(_NAME, score, source)
            part = source
            told: list[_Told] = []
            if "bend" in self.kinds:
                part, told = _played_out(log)
                log = replace(log, part=part)
            part, more = _without_marks(log, gone)
            told += more
            lines: list[Change] = []
            if _GRACE in self.kinds:
                part, graces, lines = _without_graces(replace(log, part=part))
                told += graces
            parts.append(part)
            changes += [line for _, _, line in sorted(told, key=lambda one: one[:2])] + lines
        if not changes:
            changes = [Change("there are no such ornaments", _NAME)]
        return with_parts(score, parts, changes)


# --- signs ----------------------------------------------------------------------------------------


def _played_out(log: Scribe) -> tuple[Part, list[_Told]]:
    """Return the part with bent notes at the pitch they are bent to, ties included."""
    part = log.part
    new: dict[NoteKey, int] = {}
    for key, event in timeline(part).by_key.items():
        for index, note in enumerate(event.notes):
            rise = _rise(note)
            if rise and note.pitch is not None and _can_rise(part, note, rise):
                new[*key, index] = rise
    lines = []
    for (measure, voice, place, index), rise in new.items():
        event = timeline(part).by_key[measure, voice, place]
        pitch = event.notes[index].pitch
        if pitch is not None:
            target = _risen(pitch, rise)
            text = f"the bend left out: {target} is played plain, to which {pitch} was bent"
            lines.append((measure, event.onset, log.at(measure, event.onset, text)))
    for stop, start in timeline(part).ties.items():
        if start in new:
            new[stop] = new[start]
    return map_keyed(part, lambda key, event: _bent(key, event, new)) if new else part, lines


def _bent(key: EventKey, event: Event, new: dict[NoteKey, int]) -> Event:
    notes = tuple(
        _plainly_bent(note, new[*key, index]) if (*key, index) in new else note
        for index, note in enumerate(event.notes)
    )
    return event if notes == event.notes else replace(event, notes=notes)


def _plainly_bent(note: Note, rise: int) -> Note:
    if note.pitch is None:
        return note
    place = note.place and Place(note.place.string, note.place.fret + rise)
    marks = tuple(mark for mark in note.marks if mark.name != "bend")
    return replace(note, pitch=_risen(note.pitch, rise), place=place, finger="", marks=marks)


def _rise(note: Note) -> int:
    """Return by how many semitones the last bend of a note leaves it higher."""
    bends = [mark.xml for mark in note.marks if mark.name == "bend"]
    found = _ALTER.search(bends[-1]) if bends else None
    if found is None or "<release" in bends[-1]:
        return 0
    return int(float(found[1]))


def _can_rise(part: Part, note: Note, rise: int) -> bool:
    """Whether the neck goes on for that many frets."""
    if part.instrument is None or note.place is None:
        return True
    return note.place.fret + rise <= part.instrument.top_fret


def _risen(pitch: Pitch, rise: int) -> Pitch:
    return pitch + Interval((rise * 7 + 6) // 12, rise)


# Measure, tick, and what is said of that moment.
_Told = tuple[int, int, Change]


def _without_marks(log: Scribe, gone: frozenset[str]) -> tuple[Part, list[_Told]]:
    lines: list[_Told] = []

    def bare(key: EventKey, event: Event) -> Event:
        plain, names = _plain(event, gone)
        if names:
            text = f"{_listed(names)} left out: play {_notes_text(event)} plain"
            lines.append((key[0], event.onset, log.at(key[0], event.onset, text)))
        return plain

    return map_keyed(log.part, bare), lines


def _plain(event: Event, gone: frozenset[str]) -> tuple[Event, Counter[str]]:
    """Return an event without some signs, and how many of each began there."""
    names: Counter[str] = Counter()

    def left(marks: Iterable[Mark]) -> tuple[Mark, ...]:
        kept = []
        for mark in marks:
            if mark.name not in gone or mark.family not in _FAMILIES | {mark.name}:
                kept.append(mark)
            elif mark.role not in {"stop", "continue"}:
                names[_WORDS.get(mark.name, mark.name)] += 1
        return tuple(kept)

    marks = left(event.marks)
    notes = tuple(_with_marks(note, left(note.marks)) for note in event.notes)
    if marks == event.marks and notes == event.notes:
        return event, names
    value = event.value
    if any(_is_double_tremolo(mark) for mark in _all_marks(event)) and "tremolo" in gone:
        value = _played_value(value)
    return replace(event, marks=marks, notes=notes, value=value), names


def _with_marks(note: Note, marks: tuple[Mark, ...]) -> Note:
    return note if marks == note.marks else replace(note, marks=marks)


def _all_marks(event: Event) -> Iterable[Mark]:
    yield from event.marks
    for note in event.notes:
        yield from note.marks


def _is_double_tremolo(mark: Mark) -> bool:
    return mark.name == "tremolo" and mark.role in {"start", "stop"}


def _played_value(value: NoteValue) -> NoteValue:
    """Return what one half of a tremolo lasts: it is printed with twice its length."""
    if (value.actual, value.normal) != (2, 1) or value.type not in TYPES[:-1]:
        return value
    return NoteValue(TYPES[TYPES.index(value.type) + 1], value.dots)


def _listed(names: Counter[str]) -> str:
    return " and ".join(
        f"the {name}" if number == 1 else count(number, name) for name, number in names.items()
    )


def _notes_text(event: Event) -> str:
    named = [str(note.pitch) for note in event.notes if note.pitch is not None]
    return " ".join(named) or "the note"


# --- grace notes ----------------------------------------------------------------------------------


def _without_graces(log: Scribe) -> tuple[Part, list[_Told], list[Change]]:
    """Return the part without grace notes, what is said of each, and what went with them."""
    dropped: set[NoteKey] = set()
    lines: list[_Told] = []
    for index, measure in enumerate(log.part.measures):
        tied = {
            event.onset
            for event in measure.events
            if event.grace is not None and any(n.tie_start or n.tie_stop for n in event.notes)
        }
        for voice_index, voice in enumerate(measure.voices):
            for group in _groups(voice):
                events = [voice.events[place] for place in group]
                keys = {
                    (index, voice_index, place, note)
                    for place in group
                    for note in range(len(voice.events[place].notes))
                }
                if not keys:
                    continue
                named = " ".join(_notes_text(event) for event in events)
                text = f"the grace note{'s' * (len(keys) > 1)} {named}"
                if tied.intersection(event.onset for event in events):
                    # Those of another voice at the same moment are part of the same onset.
                    text = f"{text} stay{'s' * (len(keys) == 1)}: tied to what follows"
                else:
                    text = f"{text} left out"
                    dropped |= keys
                tick = events[0].onset
                lines.append((index, tick, log.at(index, tick, text)))
    part, more = drop_notes(log.part, dropped, step=_NAME)
    return part, lines, more


def _groups(voice: Voice) -> list[list[int]]:
    """Return the places of grace notes, those together that lean on one note."""
    groups: list[list[int]] = []
    is_open = False
    for place, event in enumerate(voice.events):
        if event.grace is None:
            is_open = is_open and event.is_cue
            continue
        if not is_open:
            groups.append([])
        groups[-1].append(place)
        is_open = True
    return groups
