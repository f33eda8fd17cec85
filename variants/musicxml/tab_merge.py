"""Makes one music of a notation staff and the tab staff that doubles it.

Pitches and rhythm come from the notation, places on the neck from the tab. Where the two
disagree the notation wins and the change log says so.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

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
    beat_text,
    measures,
)

# Two parts are the same music when so much of the tab stands in the notation.
SAME_MUSIC = 0.8
_FROM_TAB = frozenset({"technical", "slide", "glissando"})
# Moment of an event: its onset, and for grace notes their place before it.
Moment = tuple[int, int]


def merge_tab(score: Score) -> Score:
    """Return the score with every doubling tab staff or tab part merged into its notation."""
    changes = list(score.changes)
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
    used = {event.staff for m in part.measures for v in m.voices for event in v.events}
    others = sorted((set(signs) | used) - set(tabs))
    if not tabs:
        return part
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
        _one_measure(view, tab, notation, part.id, ticks, changes) for view in measures(part)
    )
    return replace(part, measures=done, staves=1, layout="both")


def _one_measure(
    view: MeasureView, tab: int, notation: int, part: str, ticks: int, changes: list[Change]
) -> Measure:
    measure = view.measure
    above = [_only(voice, notation) for voice in measure.voices]
    below = [_only(voice, tab) for voice in measure.voices]
    if not any(voice.events for voice in above) and any(e.notes for v in below for e in v.events):
        # Some files leave the notation of a measure empty and write only its tab.
        above = below
        tally = _Tally()
    else:
        above, tally = _with_places([voice for voice in above if voice.events], below)
    _report(tally, view, part, ticks, changes)
    return replace(
        measure,
        voices=tuple(_on_staff_one(voice) for voice in above if voice.events),
        attributes=tuple(_attributes(one, tab) for one in measure.attributes),
        harmonies=tuple(replace(one, staff=0) for one in measure.harmonies),
        directions=tuple(replace(one, staff=0) for one in measure.directions),
    )


def _only(voice: Voice, staff: int) -> Voice:
    return Voice(voice.id, tuple(event for event in voice.events if event.staff == staff))


def _on_staff_one(voice: Voice) -> Voice:
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
        count = sum(len(e.notes) for voice in below.voices for e in voice.events)
        matched, total = matched + tally.matched, total + count
    return matched / total if total else 0.0


def _merge_two(part: Part, tab: Part, ticks: int, changes: list[Change]) -> Part:
    done = []
    for view, below in zip(measures(part), tab.measures, strict=True):
        voices, tally = _with_places(list(view.measure.voices), list(below.voices))
        _report(tally, view, part.id, ticks, changes)
        done.append(replace(view.measure, voices=tuple(voices)))
    instrument = find_instrument(tab) or part.instrument
    return replace(part, measures=tuple(done), instrument=instrument, layout="both")


# -- matching --------------------------------------------------------------------------------


def _with_places(above: list[Voice], below: list[Voice]) -> tuple[list[Voice], _Tally]:
    """Give the notes of the notation the places of the tab notes that they match."""
    waiting: dict[Moment, list[Note]] = {}
    for voice in below:
        for moment, event in _moments(voice):
            waiting.setdefault(moment, []).extend(event.notes)
    tally = _Tally()
    voices = []
    for voice in above:
        events = []
        for moment, event in _moments(voice):
            here = waiting.get(moment)
            if here and event.notes:
                events.append(replace(event, notes=_matched(event.notes, here, tally)))
            else:
                events.append(event)
        voices.append(Voice(voice.id, tuple(events)))
    _clashes(voices, waiting, tally)
    return voices, tally


def _moments(voice: Voice) -> list[tuple[Moment, Event]]:
    found: list[tuple[Moment, Event]] = []
    graces = 0
    for event in voice.events:
        graces = graces + 1 if event.grace is not None else 0
        found.append(((event.onset, graces), event))
    return found


def _matched(notes: tuple[Note, ...], here: list[Note], tally: _Tally) -> tuple[Note, ...]:
    partners: dict[int, Note] = {}
    for same in (_same_pitch, _same_class):
        for index, note in enumerate(notes):
            if index in partners:
                continue
            found = next((one for one in here if same(note, one)), None)
            if found is not None:
                partners[index] = found
                here.remove(found)
                tally.matched += 1
    return tuple(
        _joined(note, partners[index]) if index in partners else note
        for index, note in enumerate(notes)
    )


def _same_pitch(one: Note, other: Note) -> bool:
    return (
        one.pitch is not None
        and other.pitch is not None
        and one.pitch.semitones == other.pitch.semitones
    )


def _same_class(one: Note, other: Note) -> bool:
    return (
        one.pitch is not None
        and other.pitch is not None
        and one.pitch.pitch_class == other.pitch.pitch_class
    )


def _joined(note: Note, tab: Note) -> Note:
    names = {mark.name for mark in note.marks}
    marks = tuple(mark for mark in tab.marks if mark.family in _FROM_TAB and mark.name not in names)
    return replace(
        note,
        place=tab.place or note.place,
        finger=note.finger or tab.finger,
        pluck=note.pluck or tab.pluck,
        marks=(*note.marks, *marks),
    )


def _clashes(voices: list[Voice], waiting: dict[Moment, list[Note]], tally: _Tally) -> None:
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


def _report(tally: _Tally, view: MeasureView, part: str, ticks: int, changes: list[Change]) -> None:
    number = view.measure.number
    for (onset, _), kept, tab in tally.clashes:
        changes.append(
            Change(
                f"the tab has {_told(tab)} where the notation has {kept.pitch}; "
                "the notation was kept",
                "read",
                number,
                beat_text(view, onset, ticks),
                part,
            )
        )
    for (onset, _), tab in tally.missing:
        changes.append(
            Change(
                f"the tab has {_told(tab)} that the notation does not have; it was left out",
                "read",
                number,
                beat_text(view, onset, ticks),
                part,
            )
        )


def _told(note: Note) -> str:
    return f"{note.pitch} ({note.place})" if note.place else f"{note.pitch}"
