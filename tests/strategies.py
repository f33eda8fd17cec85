"""Hypothesis strategies for scores: the widest domain that the model allows.

`scores` draws pick-ups, several metres and keys, tuplets, ties over barlines, chords, dyads,
grace and cue notes, several voices and parts, chord symbols, lyrics, slurs, repeats, microtones,
unpitched parts, instruments in several tunings and places on the neck. Narrow it by its
arguments, not by `assume`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

from hypothesis import strategies as st

from variants.music import Interval, Key, Metre, NoteValue, Pitch, pitch
from variants.score import (
    Attributes,
    Barline,
    Direction,
    Event,
    Harmony,
    Instrument,
    KeySign,
    Lyric,
    Mark,
    Measure,
    Note,
    Part,
    Place,
    Score,
    Voice,
)

Draw = Any
# Divisible by the triplets and quintuplets that are drawn, down to 16ths.
TICKS = (12, 60, 24)


def open_strings(text: str) -> tuple[Pitch, ...]:
    """Return open strings, string 1 first, from their names low to high."""
    return tuple(Pitch.parse(name) for name in reversed(text.split()))


STANDARD = Instrument(open_strings("E2 A2 D3 G3 B3 E4"), tuning="standard")
INSTRUMENTS = (
    STANDARD,
    Instrument(open_strings("D2 A2 D3 G3 B3 E4"), tuning="drop-d"),
    Instrument(open_strings("D2 A2 D3 G3 A3 D4"), capo=2, tuning="dadgad"),
    Instrument(open_strings("E1 A1 D2 G2"), frets=20, tuning="bass-4"),
    Instrument(open_strings("G4 C4 E4 A4"), frets=15, tuning="ukulele"),
    Instrument(open_strings("G4 D3 G3 B3 D4"), first_frets=(0, 0, 0, 0, 5), tuning="banjo-5"),
)
METRES = (
    Metre(),
    Metre(("3",), (4,)),
    Metre(("6",), (8,)),
    Metre(("2",), (2,), "cut"),
    Metre(("5",), (8,)),
    Metre(("3+2",), (8,)),
    Metre(("9",), (8,)),
    Metre(("2", "3"), (4, 8)),
)
SINGLE_NAMES = [f"{letter}{sign}" for sign in ("", "#", "b", "##", "bb") for letter in "CDEFGAB"]
NAMED_INTERVALS = tuple(
    Interval.parse(sign + name)
    for name in ["P1", "m2", "M2", "m3", "M3", "P4", "A4", "d5", "P5"]
    for sign in ("", "-")
)


def intervals() -> st.SearchStrategy[Interval]:
    """Draw an interval: the named ones up to a fifth first, then wider and rarer ones."""
    rare = [
        Interval.parse(sign + n)
        for n in ["A1", "d3", "A2", "m6", "A5", "M7", "P8", "m10"]
        for sign in "+-"
    ]
    return st.sampled_from((*NAMED_INTERVALS, *rare))


def pitches(
    *, min_midi: int = 28, max_midi: int = 96, microtones: bool = False
) -> st.SearchStrategy[Pitch]:
    """Draw a spelled pitch within bounds (MIDI numbers, both included); naturals first."""
    found = [
        note
        for name in SINGLE_NAMES
        for octave in range(9)
        if min_midi <= (note := Pitch.parse(f"{name}{octave}")).midi <= max_midi
    ]
    # The middle of the range first: examples shrink towards it.
    middle = (min_midi + max_midi) / 2
    found.sort(key=lambda note: (abs(int(note.alter)), abs(note.midi - middle)))
    if microtones:
        found += [pitch(n.letter, Fraction(1, 2), n.octave) for n in found if not n.alter][:8]
    return st.sampled_from(found)


def keys() -> st.SearchStrategy[Key]:
    """Draw a key with up to seven signs, its mode known or not."""
    return st.builds(Key, st.integers(-7, 7), st.sampled_from(("major", "minor", "", "dorian")))


def metres() -> st.SearchStrategy[Metre]:
    """Draw a metre: simple, compound, irregular, added."""
    return st.sampled_from(METRES)


def instruments() -> st.SearchStrategy[Instrument]:
    """Draw an instrument, the standard guitar first; two of them are re-entrant."""
    return st.sampled_from(INSTRUMENTS)


@dataclass(frozen=True)
class Domain:
    """What a drawn score may hold."""

    most_notes: int = 5
    voices: int = 3
    parts: int = 2
    measures: int = 4
    ties: bool = True
    tuplets: bool = True
    graces: bool = True
    cues: bool = True
    microtones: bool = True
    rests: bool = True
    symbols: bool = True
    placed: bool = True
    unpitched: bool = True
    sizes: tuple[int, ...] = ()
    instruments: tuple[Instrument | None, ...] = (STANDARD, None, *INSTRUMENTS[1:])
    metres: tuple[Metre, ...] = METRES
    min_midi: int = 28
    max_midi: int = 96
    in_range: bool = False


# Cells of rhythm in quarters: (length, values); the first are those that examples shrink to.
_Q, _E, _S, _H = (NoteValue(name) for name in ("quarter", "eighth", "16th", "half"))
_TRIPLET = NoteValue("eighth", 0, 3, 2, "eighth")
_CELLS: tuple[tuple[Fraction, tuple[NoteValue, ...]], ...] = (
    (Fraction(1), (_Q,)),
    (Fraction(2), (_H,)),
    (Fraction(4), (NoteValue("whole"),)),
    (Fraction(1, 2), (_E,)),
    (Fraction(3, 2), (NoteValue("quarter", 1),)),
    (Fraction(3), (NoteValue("half", 1),)),
    (Fraction(1), (_E, _E)),
    (Fraction(1), (NoteValue("eighth", 1), _S)),
    (Fraction(1, 2), (_S, _S)),
    (Fraction(2), (_E, _Q, _E)),
    (Fraction(1), (_TRIPLET,) * 3),
    (Fraction(1), (NoteValue("quarter", 0, 3, 2, "eighth"), _TRIPLET)),
    (Fraction(2), (NoteValue("quarter", 0, 3, 2, "quarter"),) * 3),
)


def scores(**limits: Any) -> st.SearchStrategy[Score]:  # noqa: ANN401 -- checked by Domain
    """Draw a score; the arguments are the fields of `Domain`."""
    return _scores(Domain(**limits))


@st.composite
def _scores(draw: Draw, domain: Domain) -> Score:
    ticks = draw(st.sampled_from(TICKS))
    frame = draw(_frames(domain, ticks))
    count = draw(st.integers(1, domain.parts)) if domain.parts > 1 else 1
    parts = tuple(draw(_parts(domain, ticks, frame, number)) for number in range(1, count + 1))
    if domain.unpitched and draw(st.integers(0, 9)) == 9:
        parts = (*parts, _drums(frame, len(parts) + 1))
    return Score(
        ticks,
        parts,
        work_title=draw(st.sampled_from(("", "Study"))),
        movement_title=draw(st.sampled_from(("A tune", ""))),
        creators=(("composer", "Trad."),),
        rights=(("", "Public domain"),),
    )


@st.composite
def _frames(draw: Draw, domain: Domain, ticks: int) -> tuple[Measure, ...]:
    """Draw the empty measures that all parts share: metre, key, pick-up, repeats."""
    count = draw(st.integers(1, domain.measures))
    metre = draw(st.sampled_from(domain.metres))
    key = draw(st.none() | keys())
    pick_up = draw(st.booleans())
    frame: list[Measure] = []
    for index in range(count):
        change = index > 0 and draw(st.integers(0, 7)) == 7
        metre = draw(st.sampled_from(domain.metres)) if change else metre
        key_change = key if index == 0 else (draw(keys()) if change else None)
        length = int(metre.quarters * ticks)
        short = pick_up and index == 0
        if short:
            length = draw(st.sampled_from([ticks // 2, ticks, length // ticks * ticks // 2]))
        attributes = Attributes(
            0,
            keys=(KeySign(key_change),) if key_change else (),
            metre=metre if index == 0 or change else None,
        )
        frame.append(
            Measure(
                str(index if pick_up else index + 1),
                length,
                is_implicit=short,
                attributes=(attributes,) if attributes != Attributes(0) else (),
            )
        )
    return _repeated(frame) if draw(st.integers(0, 3)) == 3 else tuple(frame)


def _repeated(frame: list[Measure]) -> tuple[Measure, ...]:
    first = replace(frame[0], barlines=(Barline("left", 0, repeat="forward"),))
    last = frame[-1] if len(frame) > 1 else first
    back = Barline("right", last.length, style="light-heavy", repeat="backward")
    last = replace(last, barlines=(*last.barlines, back))
    return (*([first] if len(frame) > 1 else []), *frame[1:-1], last)


def _drums(frame: tuple[Measure, ...], number: int) -> Part:
    voices = tuple(
        Voice("1", (Event(0, one.length, NoteValue(""), (Note(None),)),)) for one in frame
    )
    measures = tuple(
        replace(one, voices=(voice,)) for one, voice in zip(frame, voices, strict=True)
    )
    return Part(f"P{number}", "Drums", measures)


@st.composite
def _parts(draw: Draw, domain: Domain, ticks: int, frame: tuple[Measure, ...], number: int) -> Part:
    instrument = draw(st.sampled_from(domain.instruments))
    low, high = domain.min_midi, domain.max_midi
    if instrument is not None and (domain.in_range or draw(st.integers(0, 3)) < 3):
        low, high = max(low, instrument.lowest), min(high, instrument.highest)
    heights = pitches(min_midi=low, max_midi=high, microtones=domain.microtones)
    voices = draw(st.integers(1, domain.voices)) if domain.voices > 1 else 1
    lines = [draw(_lines(domain, ticks, frame, (heights, voice))) for voice in range(1, voices + 1)]
    measures = [
        replace(one, voices=tuple(line[index] for line in lines if line[index].events))
        for index, one in enumerate(frame)
    ]
    if domain.symbols and draw(st.booleans()):
        measures = [draw(_with_symbols(one, ticks)) for one in measures]
    part = Part(f"P{number}", f"Guitar {number}", tuple(measures), instrument)
    if domain.placed and voices == 1 and draw(st.booleans()):
        part = placed(part)
    return part


# The open D, as a chord diagram.
_FRAME = (
    "<frame><frame-strings>6</frame-strings><frame-frets>4</frame-frets>"
    "<frame-note><string>4</string><fret>0</fret></frame-note>"
    "<frame-note><string>3</string><fret>2</fret><fingering>1</fingering></frame-note></frame>"
)


@st.composite
def _with_symbols(draw: Draw, measure: Measure, ticks: int) -> Measure:
    onset = draw(st.sampled_from([0, ticks])) if measure.length > ticks else 0
    root = draw(st.sampled_from([None, ("C", 0), ("G", 0), ("A", 0), ("F", 1), ("E", -1)]))
    kind = draw(st.sampled_from(["major", "minor", "power", "dominant"])) if root else "none"
    bass = draw(st.sampled_from([None, ("D", 0)])) if root else None
    harmony = Harmony(onset, root, kind, bass=bass, frame=draw(st.sampled_from(["", _FRAME])))
    words = Direction(
        0, "<direction-type><words>let ring</words></direction-type>", words="let ring"
    )
    return replace(measure, harmonies=(harmony,), directions=(words,))


@st.composite
def _lines(
    draw: Draw,
    domain: Domain,
    ticks: int,
    frame: tuple[Measure, ...],
    voice: tuple[st.SearchStrategy[Pitch], int],
) -> list[Voice]:
    """Draw one voice through all measures."""
    heights, number = voice
    rhythm = [draw(_rhythms(domain, ticks, one.length)) for one in frame]
    if number > 1:
        # A second voice may be silent for a measure.
        rhythm = [one if draw(st.integers(0, 4)) < 4 else [] for one in rhythm]
    line: list[list[Event]] = []
    held: tuple[Pitch, ...] = ()
    for index, slots in enumerate(rhythm):
        events: list[Event] = []
        for place, (onset, duration, value, marks) in enumerate(slots):
            has_next = place + 1 < len(slots) or (index + 1 < len(rhythm) and rhythm[index + 1])
            event, held = draw(_events(domain, heights, held, bool(has_next and domain.ties)))
            grace = domain.graces and event.notes and draw(st.integers(0, 11)) == 11
            if grace and not any(note.tie_stop for note in event.notes):
                events.append(
                    Event(onset, 0, _E, (Note(draw(heights)),), grace=(("slash", "yes"),))
                )
            lyrics = (Lyric("1", "single", "la", "<text>la</text>"),) if number == 1 else ()
            events.append(
                replace(
                    event,
                    onset=onset,
                    duration=duration,
                    value=value,
                    marks=marks,
                    lyrics=lyrics if event.is_struck else (),
                )
            )
        line.append(_slurred(events) if draw(st.integers(0, 5)) == 5 else events)
    return [Voice(str(number), tuple(events)) for events in line]


def _slurred(events: list[Event]) -> list[Event]:
    sounding = [index for index, event in enumerate(events) if event.notes]
    if len(sounding) < 2:
        return events
    for index, role in ((sounding[0], "start"), (sounding[-1], "stop")):
        mark = Mark("slur", "slur", role, "1", f'<slur type="{role}" number="1"/>')
        events[index] = replace(events[index], marks=(*events[index].marks, mark))
    return events


@st.composite
def _events(
    draw: Draw,
    domain: Domain,
    heights: st.SearchStrategy[Pitch],
    held: tuple[Pitch, ...],
    may_tie: bool,
) -> tuple[Event, tuple[Pitch, ...]]:
    """Draw one event, and the pitches that are tied over from it."""
    sizes = domain.sizes or (1, 1, 2, 1, 0, 3, 2, domain.most_notes)
    allowed = [n for n in sizes if n <= domain.most_notes and (n or domain.rests)]
    size = max(draw(st.sampled_from(allowed)), len(held))
    found = {one.semitones: one for one in held}
    while len(found) < size:
        new = draw(heights)
        while new.semitones in found:
            # Few pitches may be left: take the next one up instead of drawing again.
            new = new + Interval(1, 2)
        found[new.semitones] = new
    chosen = [found[height] for height in sorted(found)]
    ties = draw(st.sampled_from([0, 0, 0, 1, 2])) if chosen and may_tie else 0
    over = tuple(chosen if ties == 2 else chosen[:1] if ties else ())
    notes = tuple(Note(one, tie_stop=one in held, tie_start=one in over) for one in chosen)
    cue = domain.cues and not held and not over and draw(st.integers(0, 19)) == 19
    return Event(0, 1, NoteValue(""), notes, is_cue=bool(cue)), over


Slot = tuple[int, int, NoteValue, tuple[Mark, ...]]


@st.composite
def _rhythms(draw: Draw, domain: Domain, ticks: int, length: int) -> list[Slot]:
    """Draw note values that fill a measure."""
    slots: list[Slot] = []
    onset = 0
    while onset < length:
        left = Fraction(length - onset, ticks)
        cells = [
            cell
            for cell in _CELLS
            if cell[0] <= left and (domain.tuplets or not cell[1][0].is_tuplet)
        ]
        _, values = draw(st.sampled_from(cells))
        for index, value in enumerate(values):
            duration = int((value.quarters or 0) * ticks)
            slots.append((onset, duration, value, _bracket(value, index, len(values))))
            onset += duration
    return slots


def _bracket(value: NoteValue, index: int, count: int) -> tuple[Mark, ...]:
    if not value.is_tuplet or index not in {0, count - 1}:
        return ()
    role = "start" if index == 0 else "stop"
    return (Mark("tuplet", "tuplet", role, "1", f'<tuplet type="{role}" number="1"/>'),)


def placed(part: Part) -> Part:
    """Return a part of one voice with every note that fits placed on the neck, chords too."""
    instrument = part.instrument
    if instrument is None:
        return part
    held: dict[Pitch, Place] = {}
    measures = []
    for measure in part.measures:
        voices = []
        for voice in measure.voices:
            events = []
            for event in voice.events:
                event, held = _placed_event(instrument, event, held)  # noqa: PLW2901
                events.append(event)
            voices.append(Voice(voice.id, tuple(events)))
        measures.append(replace(measure, voices=tuple(voices)))
    return replace(part, measures=tuple(measures))


def _placed_event(
    instrument: Instrument, event: Event, held: dict[Pitch, Place]
) -> tuple[Event, dict[Pitch, Place]]:
    taken = {place.string for place in held.values()}
    notes: list[Note] = []
    over: dict[Pitch, Place] = {}
    for note in event.notes:
        assert note.pitch is not None
        place = held.get(note.pitch) if note.tie_stop else None
        if place is None and not note.tie_stop and not note.pitch.is_microtone:
            free = [one for one in instrument.places(note.pitch.midi) if one.string not in taken]
            place = free[-1] if free else None
        if place is not None:
            taken.add(place.string)
            if note.tie_start:
                over[note.pitch] = place
        notes.append(replace(note, place=place, finger="1" if place and place.fret else ""))
    return replace(event, notes=tuple(notes)), over


@st.composite
def dyads(draw: Draw, *, sizes: Sequence[int] = (7, 5, 3, 4, 8, 9, 6)) -> tuple[Pitch, Pitch]:
    """Draw two pitches a number of semitones apart, spelled as an interval, the lower first."""
    low = draw(pitches(min_midi=40, max_midi=70))
    return low, low + Interval.of_semitones(draw(st.sampled_from(sizes)))


def line(*texts: str, instrument: Instrument | None = STANDARD, ticks: int = 12) -> Score:
    """Return a score of one voice in common time, a measure for each text.

    A token is ``E4``, ``E2+B2`` (together) or ``r`` (rest), with its value after a colon: ``w h q
    e s``, dotted with a point, quarter by default; ``~`` at the end ties all of it to the next.
    """
    values = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th"}
    held: set[Pitch] = set()
    measures = []
    for index, text in enumerate(texts):
        onset, events = 0, []
        for token in text.split():
            names, _, kind = token.rstrip("~").partition(":")
            value = NoteValue(values[kind[:1] or "q"], kind.count("."))
            duration = int((value.quarters or 0) * ticks)
            sounding = [] if names == "r" else [Pitch.parse(name) for name in names.split("+")]
            tied = token.endswith("~")
            notes = tuple(Note(one, one in held, tied) for one in sounding)
            held = set(sounding) if tied else set()
            events.append(Event(onset, duration, value, notes))
            onset += duration
        attributes = (Attributes(0, (KeySign(Key(0)),), Metre()),) if index == 0 else ()
        measures.append(
            Measure(str(index + 1), onset, (Voice("1", tuple(events)),), attributes=attributes)
        )
    return Score(ticks, (Part("P1", "Guitar", tuple(measures), instrument),), "Exercise")


def places(score: Score) -> str:
    """Return the places of the first part as ``string:fret``, those of a chord joined by ``+``."""
    found = []
    for measure in score.parts[0].measures:
        for voice in measure.voices:
            for event in voice.events:
                stood = [note.place for note in event.notes]
                names = [f"{one.string}:{one.fret}" if one else "-" for one in stood]
                found += ["+".join(names)] if names else []
    return " ".join(found)


def tokens(score: Score, *, part: int = 0) -> str:
    """Return what `line` reads, without values: ``E2+B2 r E4~ E4``, voices one after another."""
    found = []
    for measure in score.parts[part].measures:
        for voice in measure.voices:
            for event in voice.events:
                names = "+".join(str(note.pitch) for note in event.notes) or "r"
                tied = any(note.tie_start for note in event.notes)
                found.append(f"{names}~" if tied else names)
    return " ".join(found)
