"""From a score to passages for the engine, and from its answers back to a score."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from variants.errors import Refusal
from variants.fingering.answer import Fingered, FingeredNote, HandAt, UnplayableOnset
from variants.fingering.passage import HandPin, Passage, PassageNote, Settings
from variants.music import spelled
from variants.score import (
    Change,
    Event,
    EventView,
    Instrument,
    Note,
    NoteKey,
    Part,
    Place,
    Score,
    map_heads,
    measures,
    place_text,
    timeline,
    with_parts,
)
from variants.score.timeline import is_joined, tempo_marks

if TYPE_CHECKING:
    from variants.fingering.keeping import Loosened

FINGER_NAMES = ("0", "1", "2", "3", "4", "T")


@dataclass(frozen=True, slots=True)
class HandPlace:
    """The hand at a moment of a part.

    Args:
        measure: Index of the measure, from 0.
        tick: Ticks from the start of the measure.
        hand: Position, barre, and what the choice cost.
    """

    measure: int
    tick: int
    hand: HandAt


@dataclass(frozen=True, slots=True)
class FingeredScore:
    """A score with places and fingers.

    Args:
        score: The score.
        hands: For each fingered part by its place in the score, the hand along time.
    """

    score: Score
    hands: dict[int, tuple[HandPlace, ...]] = field(hash=False, default_factory=dict)


def finger_score(
    score: Score,
    settings: Settings,
    *,
    keep_places: bool = True,
    loosen: bool = False,
    pins: Mapping[NoteKey, HandPin] | None = None,
) -> FingeredScore:
    """Set place and finger of every note of every fretted part.

    Args:
        score: The score; parts without an instrument are left alone.
        settings: Hand, limits and wishes.
        keep_places: Take the places and fingers that are set as given; else they are chosen anew.
        loosen: Let go, with a line in the change log, what no hand can hold of what is given; else
            that is an error.
        pins: What is pinned, by the note heads of the first fretted part; needs ``loosen``.

    Raises:
        Unplayable: No hand can play an onset; names measure and beat and what would help.
        Refusal: A note is a microtone, which a fret cannot stop.
    """
    parts: list[Part] = []
    hands: dict[int, tuple[HandPlace, ...]] = {}
    changes: list[Change] = []
    for index, part in enumerate(score.parts):
        if part.instrument is None:
            parts.append(part)
            continue
        asked, lines = asked_of(
            score,
            part,
            settings,
            keep_places=keep_places,
            loosen=loosen,
            pins=None if hands else pins,
        )
        changes += lines
        done, hands[index], others = _finger_part(score, part, asked, settings)
        parts.append(done)
        changes += others
    return FingeredScore(with_parts(score, parts, changes), hands)


def asked_of(
    score: Score,
    part: Part,
    settings: Settings,
    *,
    keep_places: bool = True,
    loosen: bool = True,
    pins: Mapping[NoteKey, HandPin] | None = None,
) -> tuple[tuple[Passage, list[tuple[NoteKey, ...]]], list[Change]]:
    """Return the passage of a part with the wishes that can be held, and lines for the others.

    Args:
        score: The score.
        part: The part.
        settings: Hand, limits and wishes.
        keep_places: See `finger_score`, as for the rest.
        loosen: Let go what no hand can hold.
        pins: What is pinned.

    Raises:
        Refusal: See `passage_of`; or pins cannot be joined.
    """
    passage, heads = passage_of(score, part, keep_places=keep_places)
    if not loosen or not passage.notes:
        return (passage, heads), []
    pinned = (
        {
            number: pin
            for number, standing in enumerate(heads)
            if (pin := next((pins[head] for head in standing if head in pins), None))
        }
        if pins
        else {}
    )
    stays: list[Change] = []
    carried = {number for number, pin in pinned.items() if not pin.is_firm}
    if carried:
        firm = {number: pin for number, pin in pinned.items() if number not in carried}
        free, _ = _loosened(score, part, (_with_pins(passage, firm), settings), firm)
        is_open = _open_stays(free, settings, {number: pinned[number] for number in carried})
        stays = [_open_line(score, part, passage.notes[number]) for number in is_open]
        pinned = {number: pin for number, pin in pinned.items() if number not in is_open}
    asked = _with_pins(passage, pinned)
    passage, gone = _loosened(score, part, (asked, settings), pinned)
    lines = _other_pitch(score, part) if keep_places else ()
    return (passage, heads), [*lines, *stays, *_told(score, part, passage, gone)]


def _other_pitch(score: Score, part: Part) -> Iterator[Change]:
    """Yield a line for each place that does not sound its note, as of a harmonic."""
    views = measures(part, score.ticks)
    for take in timeline(part).takes:
        measure, voice, event, head = take.heads[0]
        note = part.measures[measure].voices[voice].events[event].notes[head]
        if note.place is None or _sounds(note, part.instrument):
            continue
        view = views[measure]
        yield Change(
            f"string {note.place.string}, fret {note.place.fret} does not sound "
            f"{spelled(take.pitch.midi, view.key)}; chosen anew",
            "fingering",
            view.measure.number,
            view.beat_text(take.tick),
            part.id,
        )


def _with_pins(passage: Passage, pins: Mapping[int, HandPin]) -> Passage:
    if not pins:
        return passage
    notes = list(passage.notes)
    for number, pin in pins.items():
        notes[number] = pin.on(notes[number])
    return replace(passage, notes=tuple(notes))


def _open_stays(
    passage: Passage, settings: Settings, carried: Mapping[int, HandPin]
) -> tuple[int, ...]:
    """Return the notes that are open without the pins carried to them, which would stop them.

    Editors keep their open strings where they finger the same figure otherwise elsewhere: carried
    to these too, corrections lose open strings (``benchmarks/corrections.py``).
    """
    from variants.fingering import finger

    try:
        found = finger(passage, settings).notes
    except UnplayableOnset:
        return ()  # what is asked for in the end says what is wrong
    return tuple(
        number
        for number, pin in sorted(carried.items())
        if found[number].fret == 0 and "place" in pin.kinds and not _is_open(pin, passage, number)
    )


def _is_open(pin: HandPin, passage: Passage, number: int) -> bool:
    if pin.fret is not None:
        return pin.fret == 0
    return (
        bool(pin.string) and passage.open_midi[(pin.string or 1) - 1] == passage.notes[number].midi
    )


def _open_line(score: Score, part: Part, note: PassageNote) -> Change:
    view = measures(part, score.ticks)[note.measure]
    return Change(
        f"{spelled(note.midi, view.key)} stays open, though the same figure is pinned elsewhere",
        "fingering",
        view.measure.number,
        view.beat_text(note.onset - view.start),
        part.id,
    )


def _loosened(
    score: Score, part: Part, asked: tuple[Passage, Settings], pins: Mapping[int, HandPin]
) -> tuple[Passage, tuple[Loosened, ...]]:
    from variants.fingering.keeping import loosened

    try:
        return loosened(*asked, pins=pins)
    except UnplayableOnset as error:
        raise _placed(error, score, part, asked[0]) from None


def _told(score: Score, part: Part, passage: Passage, gone: Iterable[Loosened]) -> Iterator[Change]:
    """Yield a line for each given place or finger that no hand can hold."""
    views = measures(part, score.ticks)
    for one in gone:
        note = passage.notes[one.note]
        view = views[note.measure]
        name = spelled(note.midi, view.key)
        tick = note.onset - view.start
        verb = {"place": "was on", "finger": "had"}.get(one.what, "was pinned to")
        yield Change(
            f"{name} {verb} {one.text}, which no hand can hold here; chosen anew",
            "fingering",
            view.measure.number,
            view.beat_text(tick),
            part.id,
        )


def passage_of(
    score: Score, part: Part, *, keep_places: bool = True
) -> tuple[Passage, list[tuple[NoteKey, ...]]]:
    """Return the passage of a part, and for each of its notes the heads that it stands for.

    Voices that meet on one pitch are one note for the hand.

    Raises:
        Refusal: The part has no instrument, or a note is a microtone.
    """
    instrument = part.instrument
    if instrument is None:
        raise Refusal("the part has no instrument", way_out="name a tuning for it")
    builder = _Builder(score, part, keep_places=keep_places)
    views = measures(part, score.ticks)
    for one in timeline(part).events:
        if not one.event.is_cue:
            for index, note in enumerate(one.event.notes):
                builder.note(one, note, (*one.key, index))
    passage = Passage(
        notes=tuple(builder.notes),
        ticks_per_quarter=score.ticks,
        quarters_per_minute=float(views[0].quarters_per_minute) if views else 120.0,
        tempi=tuple((at, float(rate)) for at, rate in tempo_marks(views)),
        measure_starts=timeline(part).starts,
        measure_numbers=tuple(view.measure.number for view in views),
        tuning_midi=tuple(string.midi for string in instrument.open_strings),
        capo=instrument.capo,
        frets=instrument.frets,
        first_frets=instrument.first_frets,
        scale_length_mm=instrument.scale_length_mm,
    )
    return passage, [tuple(heads) for heads in builder.heads]


class _Builder:
    """Gathers the notes of a part."""

    def __init__(self, score: Score, part: Part, *, keep_places: bool) -> None:
        self.score = score
        self.part = part
        self.keep_places = keep_places
        self.notes: list[PassageNote] = []
        self.heads: list[list[NoteKey]] = []
        # (onset, pitch, grace, measure of a grace note) -> index of the note.
        self.at: dict[tuple[int, int, int, int], int] = {}

    def note(self, one: EventView, note: Note, head: NoteKey) -> None:
        """Add one note head."""
        event = one.event
        if note.pitch is None:
            return
        if note.pitch.is_microtone:
            raise Refusal(
                f"{note.pitch} is a microtone, which no fret stops",
                place=place_text(self.score, self.part, head[0], event.onset),
                way_out="leave the note out or write it as a bend",
            )
        key = (one.start, note.pitch.midi, one.grace, head[0] if one.grace else 0)
        known = self.at.get(key)
        # Two heads of one pitch in one chord (G sharp beside A flat) are two strings, where the
        # neck has both; those of two voices are one note for the hand.
        is_unison = known is not None and self.heads[known][0][:3] == head[:3]
        if known is not None and not (is_unison and self._has_two_places(note)):
            self.heads[known].append(head)
            self._double(known, event, note)
            return
        self.at[key] = len(self.notes)
        self.heads.append([head])
        self.notes.append(self._made(one, note))

    def _has_two_places(self, note: Note) -> bool:
        instrument, pitch = self.part.instrument, note.pitch
        return (
            instrument is not None and pitch is not None and len(instrument.places(pitch.midi)) > 1
        )

    def _double(self, index: int, event: Event, note: Note) -> None:
        """Join a head to the note of another voice that it doubles.

        Where one of them is struck, the note is struck, even if the other is tied over.
        """
        known = self.notes[index]
        longest = max(known.duration, event.duration)
        tied = known.tied_from and note.tie_stop
        if (known.duration, known.tied_from) != (longest, tied):
            self.notes[index] = replace(known, duration=longest, tied_from=tied)

    def _made(self, one: EventView, note: Note) -> PassageNote:
        given = note.place if self.keep_places and _sounds(note, self.part.instrument) else None
        # A finger without a place is a wish of its own: most printed fingers have no tab.
        finger = note.finger if self.keep_places and (given or note.place is None) else ""
        return PassageNote(
            onset=one.start,
            duration=one.event.duration,
            midi=note.pitch.midi if note.pitch else 0,
            voice=one.voice,
            measure=one.key[0],
            tied_from=note.tie_stop,
            slurred_from=is_joined(one.event),
            grace=one.grace,
            string=given.string if given else None,
            fret=given.fret if given else None,
            finger=FINGER_NAMES.index(finger) if finger in FINGER_NAMES else None,
        )


def _sounds(note: Note, instrument: Instrument | None) -> bool:
    if note.place is None or note.pitch is None or instrument is None:
        return False
    return instrument.sounding(note.place) == note.pitch.midi


def _finger_part(
    score: Score, part: Part, asked: tuple[Passage, list[tuple[NoteKey, ...]]], settings: Settings
) -> tuple[Part, tuple[HandPlace, ...], list[Change]]:
    from variants.fingering import finger

    passage, heads = asked
    if not passage.notes:
        return part, (), []
    try:
        answer = finger(passage, settings)
    except UnplayableOnset as error:
        raise _placed(error, score, part, passage) from None
    told = list(_otherwise(score, part, passage, answer)) if settings.is_usual else []
    return apply_answer(part, answer, heads), hand_places(answer, passage), told


def _otherwise(score: Score, part: Part, passage: Passage, answer: Fingered) -> Iterator[Change]:
    """Yield a line for each shape that has other fingers somewhere than in most places."""
    from variants.fingering.alike import otherwise

    views = measures(part, score.ticks)
    for one in otherwise(answer.notes, answer.hands):
        first = passage.notes[one.notes[0]]
        view = views[first.measure]
        names = ", ".join(str(spelled(passage.notes[i].midi, view.key)) for i in one.notes)
        here, usual = (
            "-".join(FINGER_NAMES[finger] for finger in fingers)
            for fingers in (one.fingers, one.usual)
        )
        more = f" (so {one.count} times)" if one.count > 1 else ""
        yield Change(
            f"{names}: fingers {here} here and {usual} elsewhere for the same shape, as the notes "
            f"around ask for it{more}",
            "fingering",
            view.measure.number,
            view.beat_text(first.onset - view.start),
            part.id,
        )


def _placed(error: UnplayableOnset, score: Score, part: Part, passage: Passage) -> UnplayableOnset:
    """Return the error with the beat as the part's metre counts it."""
    tick = error.onset - passage.measure_starts[error.measure]
    return UnplayableOnset(
        error.cause,
        place=place_text(score, part, error.measure, tick),
        way_out=error.way_out,
        onset=error.onset,
        measure=error.measure,
        notes=error.notes,
    )


def apply_answer(part: Part, answer: Fingered, heads: list[tuple[NoteKey, ...]]) -> Part:
    """Return a part with the places and fingers of an answer to its passage."""
    table: dict[NoteKey, FingeredNote] = {}
    for fingered, standing in zip(answer.notes, heads, strict=True):
        for head in standing:
            table[head] = fingered
    return map_heads(part, lambda head, note: _with_answer(note, table.get(head)))


def _with_answer(note: Note, answer: FingeredNote | None) -> Note:
    if answer is None:
        return note
    # A held note is printed without a finger: the hand does nothing new.
    finger = "" if note.tie_stop else FINGER_NAMES[answer.finger]
    return replace(note, place=Place(answer.string, answer.fret), finger=finger)


def hand_places(answer: Fingered, passage: Passage) -> tuple[HandPlace, ...]:
    """Return the hands of an answer by measure and tick."""
    found = []
    for hand in answer.hands:
        measure = passage.notes[hand.notes[0]].measure if hand.notes else 0
        found.append(HandPlace(measure, hand.onset - passage.measure_starts[measure], hand))
    return tuple(found)
