"""The step `fold-octaves`: notes out of the instrument's range move by octaves."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

from variants.contract import Promise
from variants.errors import Refusal, UsageError
from variants.music import Pitch
from variants.music.pitch import Alteration
from variants.score import (
    Change,
    Event,
    EventKey,
    Instrument,
    Note,
    NoteKey,
    Part,
    Score,
    map_heads,
    timeline,
    with_parts,
    with_pitch,
    without_places,
)
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice, parsed
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.dropping import drop_notes
from variants.steps.lines.takes import assumed, fretted_parts, instrument_at, with_instrument
from variants.steps.places.jumps import turned
from variants.tune.line import tune_of
from variants.tune.phrases import phrases_of

_NAME = "fold-octaves"
_UNITS = ("notes", "phrases")
# No instrument is so far from any music that more octaves would be needed.
_MOST_OCTAVES = 8
# A note may lie this many octaves further inside than it must, if the contour asks for it.
_SPARE_OCTAVES = 2
# Every note has an octave in a range of twelve neighbouring semitones.
_LEAST_RANGE = 11
# Beyond all MIDI numbers: no bound of its own.
_NO_LOWEST, _NO_HIGHEST = -128, 256


@dataclass(frozen=True, slots=True)
class _Held:
    """One note with all that is tied to it.

    Args:
        pitch: Its pitch.
        heads: Its note heads.
        midi: MIDI number, rounded down.
        fits: By how many octaves it may move to be playable; 0 among them if it is.
    """

    pitch: Pitch
    heads: tuple[NoteKey, ...]
    midi: int
    fits: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Chord:
    """What begins together in a voice; ``start`` and ``end`` in ticks from the part's start."""

    measure: int
    tick: int
    start: int
    end: int
    notes: tuple[_Held, ...]

    @property
    def is_out(self) -> bool:
        """Whether a note of it cannot be played as it is."""
        return any(0 not in one.fits for one in self.notes)

    def folded(self, spare: int) -> tuple[int, ...] | None:
        """Return by how many octaves each note moves: the least, and ``spare`` more if it must."""
        found = []
        for one in self.notes:
            if 0 in one.fits:
                found.append(0)
                continue
            nearest = min(one.fits, key=abs)
            wanted = nearest + (spare if nearest > 0 else -spare)
            if wanted not in one.fits:
                return None
            found.append(wanted)
        return tuple(found)

    def top(self, octaves: Sequence[int]) -> int:
        """Return the MIDI number of the highest note after a move."""
        return max(one.midi + 12 * n for one, n in zip(self.notes, octaves, strict=True))


def _pitch(text: str) -> Pitch:
    return Pitch.parse(text.strip())


@register(
    _NAME,
    examples=("fold-octaves", "fold-octaves:move=phrases", "fold-octaves:lowest=E2,highest=E4"),
)
@dataclass(frozen=True, slots=True, kw_only=True)
class FoldOctaves(Checked):
    """Move notes that the instrument does not have by octaves, and keep the contour where it can.

    With ``move=notes`` only notes out of range move. Of the octaves that hold a note the one is
    taken that lets the top line rise and fall as before, then the nearest; the choice is made for
    a whole voice at once. With ``move=phrases`` all of a phrase of the tune moves
    with its notes out of range, so that its contour stays; a phrase that is wider than the
    instrument moves note by note. A note that moves onto another of its chord is one with it.
    """

    move: str = parameter(
        "notes", "only notes out of range, or their phrases with them", choice("notes", "phrases")
    )
    lowest: Pitch | None = parameter(
        None, "lowest sounding pitch to leave", parsed(Pitch, _pitch, "E2, A3, ...")
    )
    highest: Pitch | None = parameter(
        None, "highest sounding pitch to leave", parsed(Pitch, _pitch, "E5, G4, ...")
    )
    keeps: ClassVar[frozenset[Promise]] = frozenset(
        {Promise.PITCH_CLASSES, Promise.ONSETS, Promise.MEASURE_LENGTHS}
    )

    def check_together(self) -> None:
        """See `Checked`."""
        low, high = self._bounds
        if high - low < _LEAST_RANGE:
            raise UsageError(
                f"{self.lowest} to {self.highest} holds less than an octave",
                way_out="leave room for every note's octave",
            )

    @property
    def _bounds(self) -> tuple[int, int]:
        """The lowest and the highest MIDI number that may be left."""
        low = self.lowest.midi if self.lowest is not None else _NO_LOWEST
        high = self.highest.midi if self.highest is not None else _NO_HIGHEST
        return low, high

    def __call__(self, score: Score) -> Score:
        """Return the score with every note of its fretted parts in range.

        Raises:
            Refusal: A note has no octave on the instrument.
        """
        parts = list(score.parts)
        changes: list[Change] = []
        for index in fretted_parts(score):
            part = with_instrument(parts[index])
            log = scribe(_NAME, score, part)
            moved, lines = self._folded(log)
            changes += [*assumed(parts[index], _NAME), *lines]
            parts[index] = moved
        if not changes:
            changes = [Change("every note is in range as it is", _NAME)]
        return with_parts(score, parts, changes)

    def _folded(self, log: Scribe) -> tuple[Part, list[Change]]:
        moves: dict[NoteKey, int] = {}
        chosen: list[tuple[list[_Chord], list[tuple[int, ...]], int | None]] = []
        is_whole = self.move == "phrases"
        starts = _phrase_starts(log) if is_whole else []
        for chords in _voices(log, self._bounds).values():
            for run in _runs(chords, starts):
                whole = _whole(run) if is_whole else None
                picked = _by_note(run) if whole is None else [(whole,) * len(c.notes) for c in run]
                chosen.append((run, picked, whole))
                for chord, octaves in zip(run, picked, strict=True):
                    for held, number in zip(chord.notes, octaves, strict=True):
                        moves.update(dict.fromkeys(held.heads, number))
        moved = _moved(log.part, moves)
        doubled = _doubled(moved, moves)
        lines: list[_Told] = []
        for run, picked, whole in chosen:
            if whole is None:
                lines += _told_notes(log, run, picked, doubled)
            else:
                lines += _told_phrase(log, run, whole)
        told = [line for _, _, line in sorted(lines, key=lambda one: one[:2])]
        part, gone = drop_notes(moved, set(doubled), step=_NAME)
        part, signs = turned(part, log) if any(moves.values()) else (part, [])
        return part, [*told, *gone, *signs]


_Told = tuple[int, int, Change]


def _told_notes(
    log: Scribe, run: list[_Chord], picked: list[tuple[int, ...]], doubled: set[NoteKey]
) -> Iterator[_Told]:
    for chord, octaves in zip(run, picked, strict=True):
        lowest = min(one.midi for one in chord.notes)
        new = min(one.midi + 12 * n for one, n in zip(chord.notes, octaves, strict=True))
        turned_over = (
            "" if (new - lowest) % 12 == 0 else "; another note is the lowest of the chord"
        )
        for held, number in zip(chord.notes, octaves, strict=True):
            if number:
                there = ", which is there already" if doubled.intersection(held.heads) else ""
                line = _line(log, chord, held, number, f"{there}{turned_over}")
                yield chord.measure, chord.tick, line
                turned_over = ""


def _told_phrase(log: Scribe, run: list[_Chord], octaves: int) -> Iterator[_Told]:
    if octaves:
        first = run[0]
        text = (
            f"the phrase of {count(len(run), 'onset')} from here moves {_way(octaves)}, to be in"
            " range"
        )
        yield first.measure, first.tick, log.at(first.measure, first.tick, text)


def _line(log: Scribe, chord: _Chord, held: _Held, number: int, more: str) -> Change:
    new = held.pitch.moved_octaves(number)
    text = f"{held.pitch} is out of range and moves {_way(number)} to {new}{more}"
    return log.at(chord.measure, chord.tick, text)


def _way(octaves: int) -> str:
    word = "an octave" if abs(octaves) == 1 else count(abs(octaves), "octave")
    return f"{'up' if octaves > 0 else 'down'} {word}"


# --- what is there --------------------------------------------------------------------------------


def _voices(log: Scribe, bounds: tuple[int, int]) -> dict[str, list[_Chord]]:
    """Return the chords of each voice in order of time, every note head in one of them."""
    part = log.part
    sounding = timeline(part)
    starts, instrument_of, events = sounding.starts, instrument_at(part), sounding.by_key
    begun = [one.key for here in sounding.struck.values() for one in here]
    known = {*begun, *sounding.ties}
    # Cue notes, and notes that are held from another ending.
    begun += [
        (*key, index)
        for key, event in events.items()
        for index, note in enumerate(event.notes)
        if note.pitch is not None and (*key, index) not in known
    ]
    grouped: dict[tuple[int, int, int], list[NoteKey]] = {}
    for key in begun:
        grouped.setdefault(key[:3], []).append(key)
    found: dict[str, list[_Chord]] = {}
    for owner in sorted(grouped):
        event = events[owner]
        start = starts[owner[0]] + event.onset
        held = tuple(
            _held(
                log,
                event.notes[key[3]],
                sounding.chains.get(key, (key,)),
                (instrument_of(start), *bounds),
            )
            for key in grouped[owner]
        )
        last = max(head for one in held for head in one.heads)
        end = starts[last[0]] + events[last[:3]].end
        voice = part.measures[owner[0]].voices[owner[1]].id
        found.setdefault(voice, []).append(_Chord(owner[0], event.onset, start, end, held))
    return found


def _held(
    log: Scribe, note: Note, heads: tuple[NoteKey, ...], room: tuple[Instrument, int, int]
) -> _Held:
    instrument, low, high = room
    pitch = note.pitch
    if pitch is None:
        raise Refusal("an unpitched note has no octave", way_out="choose another part")
    fits = tuple(
        number
        for number in range(-_MOST_OCTAVES, _MOST_OCTAVES + 1)
        if low <= pitch.midi + 12 * number <= high and instrument.places(pitch.midi + 12 * number)
    )
    if not fits:
        key = heads[0]
        tick = log.part.measures[key[0]].voices[key[1]].events[key[2]].onset
        raise log.refusal(
            key[0],
            tick,
            f"{pitch.name} has no octave on the instrument",
            way_out="move the piece with transpose, or name another tuning",
        )
    return _Held(pitch, heads, pitch.midi, fits)


def _phrase_starts(log: Scribe) -> list[int]:
    """Return the ticks from the start of the part at which the phrases of its tune begin."""
    tune = tune_of(log.part)
    return [tune.notes[one.first].start for one in phrases_of(log.score, log.part, tune)]


def _runs(chords: list[_Chord], starts: list[int]) -> list[list[_Chord]]:
    """Return the chords phrase by phrase; where no phrases are given, between two silences."""
    runs: list[list[_Chord]] = []
    until, phrase = 0, 0
    for chord in chords:
        now = bisect_right(starts, chord.start)
        is_new = now != phrase if starts else chord.start > until
        if not runs or is_new:
            runs.append([])
        runs[-1].append(chord)
        until, phrase = max(until, chord.end), now
    return runs


# --- the choice -----------------------------------------------------------------------------------


def _whole(run: list[_Chord]) -> int | None:
    """Return the octaves by which a phrase moves as one; ``None`` if no octave holds it."""
    shared: set[int] | None = None
    for chord in run:
        for one in chord.notes:
            shared = set(one.fits) if shared is None else shared & set(one.fits)
    return min(shared, key=lambda number: (abs(number), -number)) if shared else None


def _by_note(run: list[_Chord]) -> list[tuple[int, ...]]:
    """Return the octaves of each note: best contour first, then the shortest way.

    A shortest path over the chords: the cost of a step is 1 where the top line no longer rises,
    falls or stays as it did, and the octaves of a move count only between equal contours.
    """
    if not any(chord.is_out for chord in run):
        return [(0,) * len(chord.notes) for chord in run]
    first, *others = run
    paths: list[_Path] = [((0, sum(map(abs, one))), [one]) for one in _options(first)]
    before = first
    for chord in others:
        old = chord.top((0,) * len(chord.notes)) - before.top((0,) * len(before.notes))
        paths = [
            min(_longer(path, option, old, (before, chord)) for path in paths)
            for option in _options(chord)
        ]
        before = chord
    return min(paths)[1]


# (Steps of another contour, octaves in all), and the octaves of each chord so far.
_Path = tuple[tuple[int, int], list[tuple[int, ...]]]


def _options(chord: _Chord) -> list[tuple[int, ...]]:
    """Return how the notes of a chord may move: as little as they must first."""
    found = [one for spare in range(_SPARE_OCTAVES + 1) if (one := chord.folded(spare))]
    return list(dict.fromkeys(found))


def _longer(path: _Path, option: tuple[int, ...], old: int, pair: tuple[_Chord, _Chord]) -> _Path:
    (broken, way), taken = path
    before, chord = pair
    new = chord.top(option) - before.top(taken[-1])
    return (broken + _is_other(old, new), way + sum(map(abs, option))), [*taken, option]


def _is_other(old: int, new: int) -> int:
    """Whether a step of the contour is another one: up, down or level."""
    return int((old > 0) - (old < 0) != (new > 0) - (new < 0))


# --- the result -----------------------------------------------------------------------------------


def _doubled(part: Part, moves: dict[NoteKey, int]) -> set[NoteKey]:
    """Return the notes to drop where one has moved onto another of its chord.

    Of the two the one stays that is struck there, that is tied on, and that stood there before.
    """
    doubled: set[NoteKey] = set()
    for key, event in timeline(part).by_key.items():
        if not any(moves.get((*key, number)) for number in range(len(event.notes))):
            continue
        heights: dict[Alteration, list[int]] = {}
        for number, note in enumerate(event.notes):
            if note.pitch is not None:
                heights.setdefault(note.pitch.semitones, []).append(number)
        for same in heights.values():
            if not any(moves.get((*key, number)) for number in same):
                continue

            def rank(number: int, key: EventKey = key, event: Event = event) -> tuple[bool, ...]:
                note = event.notes[number]
                return note.tie_stop, not note.tie_start, bool(moves.get((*key, number)))

            doubled.update((*key, number) for number in sorted(same, key=rank)[1:])
    return doubled


def _moved(part: Part, moves: dict[NoteKey, int]) -> Part:
    if not any(moves.values()):
        return part

    def of_note(head: NoteKey, note: Note) -> Note:
        pitch: Pitch | None = note.pitch
        if pitch is None or not moves.get(head):
            return note
        return without_places(with_pitch(note, pitch.moved_octaves(moves[head])))

    return map_heads(part, of_note)
