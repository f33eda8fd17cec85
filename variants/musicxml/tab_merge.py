"""Makes one music of a notation staff and the tab staff that doubles it.

Pitches and rhythm come from the notation, places on the neck from the tab. Where the two
disagree the notation wins and the change log says so.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace

from variants.music import Pitch
from variants.musicxml.fretted import clefs_of, find_instrument
from variants.score import (
    Attributes,
    Change,
    Event,
    Extra,
    Measure,
    MeasureView,
    Note,
    Part,
    Score,
    Voice,
    measures,
    with_notes,
)

# Two parts are the same music when so much of the tab stands in the notation.
SAME_MUSIC = 0.8
_FROM_TAB = frozenset({"technical", "slide", "glissando"})
# Moment of an event: its onset, and for grace notes their place before it.
Moment = tuple[int, int]


def merge_tab(score: Score) -> Score:
    """Return the score with every doubling tab staff or tab part merged into its notation."""
    changes = list(score.changes)
    if not any(clef.sign == "TAB" for part in score.parts for clef in clefs_of(part)):
        return score
    parts = [_merge_staves(part, score.ticks, changes) for part in score.parts]
    merged, carried = _merge_parts(parts, score, changes)
    return replace(score, parts=tuple(merged), carried=carried, changes=tuple(changes))


@dataclass(slots=True)
class _Tally:
    """What came of matching one measure."""

    matched: int = 0
    missing: list[tuple[Moment, Note]] = field(default_factory=list)
    clashes: list[tuple[Moment, Note, Note]] = field(default_factory=list)


# -- two staves of one part ------------------------------------------------------------------


def _merge_staves(part: Part, ticks: int, changes: list[Change]) -> Part:
    signs: dict[int, set[str]] = {}
    for clef in clefs_of(part):
        signs.setdefault(clef.staff, set()).add(clef.sign)
    tabs = [staff for staff, names in signs.items() if names == {"TAB"}]
    if not tabs:
        return part
    used = {event.staff for m in part.measures for event in m.events}
    others = sorted((set(signs) | used) - set(tabs))
    if not others:
        return replace(part, layout="tab") if len(tabs) == 1 else part
    if len(tabs) != 1 or len(others) != 1:
        changes.append(
            Change(
                "its staves were left as they are: no one tab staff doubles one other staff",
                "read",
                part=part.id,
            )
        )
        return part
    tab, notation = tabs[0], others[0]
    done = tuple(
        _one_measure(view, tab, notation, part.id, changes) for view in measures(part, ticks)
    )
    return replace(part, measures=done, staves=1, layout="both")


def _one_measure(
    view: MeasureView, tab: int, notation: int, part: str, changes: list[Change]
) -> Measure:
    measure = view.measure
    above = _only(measure.voices, notation)
    below = _only(measure.voices, tab)
    if not above and any(event.notes for voice in below for event in voice.events):
        # Some files leave the notation of a measure empty and write only its tab.
        above = below
        tally = _Tally()
    else:
        above, tally = _with_places(above, below)
    _report(tally, view, part, changes)
    return replace(
        measure,
        voices=tuple(map(_on_staff_one, above)),
        attributes=tuple(_attributes(one, tab) for one in measure.attributes),
        harmonies=tuple(replace(one, staff=0) for one in measure.harmonies),
        directions=tuple(replace(one, staff=0) for one in measure.directions),
    )


def _only(voices: tuple[Voice, ...], staff: int) -> list[Voice]:
    """Return what of the voices stands on a staff; a voice with nothing there is left out."""
    found = []
    for voice in voices:
        events = tuple([event for event in voice.events if event.staff == staff])
        if events:
            found.append(voice if len(events) == len(voice.events) else Voice(voice.id, events))
    return found


def _on_staff_one(voice: Voice) -> Voice:
    if all(event.staff == 1 for event in voice.events):
        return voice
    return Voice(
        voice.id,
        tuple(e if e.staff == 1 else replace(e, staff=1) for e in voice.events),
    )


def _attributes(change: Attributes, tab: int) -> Attributes:
    return replace(
        change,
        keys=tuple(replace(key, staff=0) for key in change.keys if key.staff != tab)[:1],
        clefs=tuple(replace(clef, staff=1) for clef in change.clefs if clef.staff != tab),
        transpositions=tuple(
            replace(one, staff=0) for one in change.transpositions if one.staff != tab
        ),
        staves=0,
        details=(),
    )


# -- two parts -------------------------------------------------------------------------------


def _merge_parts(
    parts: list[Part], score: Score, changes: list[Change]
) -> tuple[list[Part], tuple[Extra, ...]]:
    carried = score.carried
    left = list(parts)
    for tab in [part for part in parts if part.layout == "tab"]:
        partner = _partner(tab, left)
        if partner is None:
            continue
        place = left.index(tab)
        left[left.index(partner)] = _merge_two(partner, tab, score.ticks, changes)
        left.remove(tab)
        carried = tuple(_regrouped(extra, place) for extra in carried)
        changes.append(
            Change(
                f"part {tab.id} is the tab of part {partner.id}: the two were read as one",
                "read",
                part=partner.id,
            )
        )
    return left, carried


def _regrouped(extra: Extra, removed: int) -> Extra:
    if not extra.name.startswith("group:"):
        return extra
    before = int(extra.name.removeprefix("group:"))
    return replace(extra, name=f"group:{before - 1}") if before > removed else extra


def _partner(tab: Part, parts: list[Part]) -> Part | None:
    best, best_share = None, SAME_MUSIC
    for part in parts:
        if part is tab or part.layout == "tab" or len(part.measures) != len(tab.measures):
            continue
        share = _share(part, tab)
        if share >= best_share and share > 0:
            best, best_share = part, share
    return best


def _share(part: Part, tab: Part) -> float:
    matched = total = 0
    for above, below in zip(part.measures, tab.measures, strict=True):
        _, tally = _with_places(list(above.voices), list(below.voices))
        count = sum(len(e.notes) for e in below.events)
        matched, total = matched + tally.matched, total + count
    return matched / total if total else 0.0


def _merge_two(part: Part, tab: Part, ticks: int, changes: list[Change]) -> Part:
    done = []
    for view, below in zip(measures(part, ticks), tab.measures, strict=True):
        voices, tally = _with_places(list(view.measure.voices), list(below.voices))
        _report(tally, view, part.id, changes)
        merged = _with_signs(replace(view.measure, voices=tuple(voices)), below)
        done.append(_with_strings(merged, below))
    instrument = find_instrument(tab) or part.instrument
    return replace(part, measures=tuple(done), instrument=instrument, layout="both")


def _with_strings(measure: Measure, tab: Measure) -> Measure:
    """Return the measure strung as its tab says, where the tab says it."""
    said = {one.onset: one.instrument for one in tab.attributes if one.instrument}
    if not said:
        return measure
    known = [
        replace(one, instrument=said.pop(one.onset, one.instrument)) for one in measure.attributes
    ]
    known += [Attributes(onset, instrument=strung) for onset, strung in said.items()]
    return replace(measure, attributes=tuple(sorted(known, key=lambda one: one.onset)))


def _with_signs(measure: Measure, tab: Measure) -> Measure:
    """Add the words and chord symbols that stand on the tab part alone."""
    words = {(one.onset, one.xml, one.sound) for one in measure.directions}
    more = [one for one in tab.directions if (one.onset, one.xml, one.sound) not in words]
    named = {one.onset for one in measure.harmonies}
    chords = [one for one in tab.harmonies if one.onset not in named]
    if not more and not chords:
        return measure
    return replace(
        measure,
        directions=tuple(sorted((*measure.directions, *more), key=lambda one: one.onset)),
        harmonies=tuple(sorted((*measure.harmonies, *chords), key=lambda one: one.onset)),
    )


# -- matching --------------------------------------------------------------------------------


def _with_places(above: list[Voice], below: list[Voice]) -> tuple[list[Voice], _Tally]:
    """Give the notes of the notation the places of the tab notes that they match."""
    waiting: dict[Moment, list[Note]] = {}
    for voice in below:
        for moment, event in _moments(voice):
            if moment in waiting:
                waiting[moment] += event.notes
            else:
                waiting[moment] = list(event.notes)
    tally = _Tally()
    voices = []
    for voice in above:
        events = []
        for moment, event in _moments(voice):
            here = waiting.get(moment)
            if here and event.notes:
                events.append(with_notes(event, _matched(event.notes, here, tally)))
            else:
                events.append(event)
        voices.append(Voice(voice.id, tuple(events)))
    _clashes(voices, waiting, tally)
    return voices, tally


def _moments(voice: Voice) -> list[tuple[Moment, Event]]:
    found: list[tuple[Moment, Event]] = []
    graces = 0
    for event in voice.events:
        if event.grace is not None:
            graces += 1
        elif graces:
            graces = 0
        found.append(((event.onset, graces), event))
    return found


def _matched(notes: tuple[Note, ...], here: list[Note], tally: _Tally) -> tuple[Note, ...]:
    partners: list[Note | None] = [_taken(note, here, _same_pitch) for note in notes]
    for index, note in enumerate(notes):
        if partners[index] is None and here:
            partners[index] = _taken(note, here, _same_class)
    tally.matched += len(partners) - partners.count(None)
    return tuple(
        [
            note if partner is None else _joined(note, partner)
            for note, partner in zip(notes, partners, strict=True)
        ]
    )


def _taken(note: Note, here: list[Note], same: Callable[[Pitch, Pitch], bool]) -> Note | None:
    """Take the first note that is the same as another out of a list."""
    if note.pitch is not None:
        for index, one in enumerate(here):
            if one.pitch is not None and same(note.pitch, one.pitch):
                del here[index]
                return one
    return None


def _same_pitch(one: Pitch, other: Pitch) -> bool:
    return one is other or one.semitones == other.semitones


def _same_class(one: Pitch, other: Pitch) -> bool:
    return one.pitch_class == other.pitch_class


def _joined(note: Note, tab: Note) -> Note:
    marks = note.marks
    if tab.marks:
        names = {mark.name for mark in marks}
        marks += tuple(m for m in tab.marks if m.family in _FROM_TAB and m.name not in names)
    return Note(
        note.pitch,
        note.tie_stop,
        note.tie_start,
        tab.place or note.place,
        note.finger or tab.finger,
        note.pluck or tab.pluck,
        note.accidental,
        note.staff,
        marks,
        note.extras,
    )


def _clashes(voices: list[Voice], waiting: dict[Moment, list[Note]], tally: _Tally) -> None:
    if not any(waiting.values()):
        return
    placeless: dict[Moment, list[Note]] = {}
    for voice in voices:
        for moment, event in _moments(voice):
            placeless.setdefault(moment, []).extend(n for n in event.notes if n.place is None)
    for moment, left in sorted(waiting.items()):
        free = placeless.get(moment, [])
        for note in left:
            if note.tie_stop:
                continue
            if free:
                tally.clashes.append((moment, free.pop(0), note))
            else:
                tally.missing.append((moment, note))


def _report(tally: _Tally, view: MeasureView, part: str, changes: list[Change]) -> None:
    number = view.measure.number
    for (onset, _), kept, tab in tally.clashes:
        changes.append(
            Change(
                f"the tab has {_told(tab)} where the notation has {kept.pitch}; "
                "the notation was kept",
                "read",
                number,
                view.beat_text(onset),
                part,
            )
        )
    for (onset, _), tab in tally.missing:
        changes.append(
            Change(
                f"the tab has {_told(tab)} that the notation does not have; it was left out",
                "read",
                number,
                view.beat_text(onset),
                part,
            )
        )


def _told(note: Note) -> str:
    return f"{note.pitch} ({note.place})" if note.place else f"{note.pitch}"
