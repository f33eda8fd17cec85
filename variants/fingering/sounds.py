"""From note heads to sounds and slots: what begins together, and what still sounds then."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import groupby

from variants.fingering.passage import Passage, PassageNote
from variants.guitar.grip import Reach

# A broken chord: a note that comes back within so many slots and quarters, with no step of the
# line in between, is held on to as long as that costs nothing better.
_BACK_SLOTS = 8
_BACK_QUARTERS = 3
_STEP_SEMITONES = 2

# A grace note is taken to last about this long (common practice, unvalidated).
GRACE_SECONDS = 0.09
# Sorts ordinary notes behind the grace notes of every measure.
_MAIN = 1 << 60


@dataclass(frozen=True, slots=True)
class HandSound:
    """A note as the hand meets it: tied note heads are one sound.

    Args:
        onset: Ticks.
        end: Ticks at which it stops.
        midi: Sounding MIDI number.
        heads: Indices of its note heads in the passage.
        before: Index of the sound that it is slurred from, or -1.
        string: Wished string, 0 for none.
        fret: Wished fret, -1 for none.
        finger: Wished finger, -1 for none.
        grace: 0 for an ordinary note; see `PassageNote`.
        measure: Index of the measure.
        position: Wished position, 0 for none.
        barre: Wished fret of a barre, 0 for no barre, -1 for no wish.
        not_at: Places where it must not be.
    """

    onset: int
    end: int
    midi: int
    heads: tuple[int, ...]
    before: int = -1
    string: int = 0
    fret: int = -1
    finger: int = -1
    grace: int = 0
    measure: int = 0
    position: int = 0
    barre: int = -1
    not_at: tuple[tuple[int, int], ...] = ()

    @property
    def is_free(self) -> bool:
        """Whether nothing is wished of it."""
        return not (
            self.string
            or self.fret >= 0
            or self.finger >= 0
            or self.position
            or self.barre >= 0
            or self.not_at
        )

    @property
    def moment(self) -> tuple[int, int, int]:
        """What begins at one moment is struck together; grace notes come before their onset.

        Those that end a measure come before those that begin the next one.
        """
        return self.onset, self.measure if self.grace else _MAIN, self.grace


@dataclass(frozen=True, slots=True)
class Slot:
    """A moment at which at least one sound begins.

    Args:
        onset: Ticks.
        new: Indices of the sounds that begin, lowest pitch first.
        held: Indices of the sounds that go on, in order of their onsets.
        ringing: For each held sound, whether it is written to end before: a note of a broken chord
            that the hand does well to keep.
        seconds: Time since the slot before.
        rest: Nothing sounded just before.
        grace: A grace note.
        broken: Part of a broken chord that is held as a grip.
    """

    onset: int
    new: tuple[int, ...]
    held: tuple[int, ...]
    ringing: tuple[bool, ...]
    seconds: float
    rest: bool
    grace: bool
    broken: bool = False


@dataclass(frozen=True, slots=True)
class Moment:
    """What begins together.

    Args:
        onset: Ticks.
        grace: A grace note.
        members: Indices of the sounds.
    """

    onset: int
    grace: bool
    members: tuple[int, ...]


def sounds_of(
    passage: Passage, *, grips: Reach | None = None
) -> tuple[tuple[HandSound, ...], tuple[Slot, ...]]:
    """Return the sounds of a passage and the slots at which they begin, in time order.

    Args:
        passage: The passage.
        grips: What the hand may do, where broken chords are to be held as grips.
    """
    sounds = only_sounds(passage)
    return sounds, _slots(passage, sounds, grips)


def only_sounds(passage: Passage) -> tuple[HandSound, ...]:
    """Return the sounds of a passage alone, in time order."""
    notes = passage.notes
    order = sorted(range(len(notes)), key=lambda i: (_moment(notes[i]), notes[i].midi))
    sounds: list[HandSound] = []
    last_of_voice: dict[str, int] = {}
    open_end: dict[tuple[int, int], int] = {}
    latest: dict[int, int] = {}
    for index in order:
        note = notes[index]
        tied = open_end.get((note.midi, note.onset)) if note.tied_from else None
        if tied is None and note.tied_from:
            # Another voice holds the same sound for longer than the note before the tie.
            tied = latest.get(note.midi)
            tied = tied if tied is not None and sounds[tied].end > note.onset else None
        if tied is not None:
            sounds[tied] = _lengthened(sounds[tied], note, index)
            open_end[note.midi, sounds[tied].end] = tied
            last_of_voice[note.voice] = tied
            continue
        before = last_of_voice.get(note.voice, -1) if note.slurred_from else -1
        open_end[note.midi, note.onset + note.duration] = latest[note.midi] = len(sounds)
        sounds.append(_sound(note, index, before))
        last_of_voice[note.voice] = len(sounds) - 1
    return tuple(sounds)


def _moment(note: PassageNote) -> tuple[int, int, int]:
    return note.onset, note.measure if note.grace else _MAIN, note.grace


def _sound(note: PassageNote, index: int, before: int) -> HandSound:
    return HandSound(
        note.onset,
        note.onset + (0 if note.grace else note.duration),
        note.midi,
        (index,),
        before,
        note.string or 0,
        -1 if note.fret is None else note.fret,
        -1 if note.finger is None else note.finger,
        note.grace,
        note.measure,
        note.position or 0,
        -1 if note.barre is None else note.barre,
        note.not_at,
    )


def _lengthened(sound: HandSound, note: PassageNote, index: int) -> HandSound:
    return replace(
        sound,
        end=max(sound.end, note.onset + note.duration),
        heads=(*sound.heads, index),
        string=sound.string or note.string or 0,
        fret=note.fret if sound.fret < 0 and note.fret is not None else sound.fret,
        finger=note.finger if sound.finger < 0 and note.finger is not None else sound.finger,
        not_at=sound.not_at or note.not_at,
    )


def _slots(
    passage: Passage, sounds: tuple[HandSound, ...], grips: Reach | None
) -> tuple[Slot, ...]:
    groups = [
        Moment(moment[0], moment[2] != 0, tuple(struck))
        for moment, struck in groupby(range(len(sounds)), key=lambda index: sounds[index].moment)
    ]
    rings = _rings(sounds, groups, passage.ticks_per_quarter)
    broken = _held_on(rings, sounds, groups, grips) if grips is not None else frozenset()
    slots: list[Slot] = []
    alive: list[int] = []
    ringing_until = 0
    clock = _Clock(passage)
    for number, one in enumerate(groups):
        onset, members = one.onset, one.members
        alive = [index for index in alive if max(sounds[index].end, rings[index]) > onset]
        seconds = clock.between(groups[number - 1].onset, onset) if number else 9.0
        slots.append(
            Slot(
                onset,
                tuple(sorted(members, key=lambda i: (sounds[i].midi, i))),
                tuple(alive),
                tuple(sounds[index].end <= onset for index in alive),
                max(seconds, GRACE_SECONDS),
                ringing_until < onset or not number,
                one.grace,
                number in broken,
            )
        )
        # A grace note sounds on only where a tie lengthens it.
        alive = [*alive, *members]
        ringing_until = max([ringing_until, onset, *(sounds[index].end for index in members)])
    return tuple(slots)


def _rings(sounds: tuple[HandSound, ...], groups: list[Moment], ticks: int) -> list[int]:
    """Return for each sound the onset until which it is kept as part of a broken chord."""
    out = [sound.end for sound in sounds]
    for number, one in enumerate(groups):
        if one.grace:
            continue
        for index in one.members:
            midi = sounds[index].midi
            for later in groups[number + 1 : number + 1 + _BACK_SLOTS]:
                if later.grace or later.onset - one.onset > _BACK_QUARTERS * ticks:
                    break
                pitches = [sounds[other].midi for other in later.members]
                if midi in pitches:
                    out[index] = max(out[index], later.onset)
                    break
                if min(abs(pitch - midi) for pitch in pitches) <= _STEP_SEMITONES:
                    break
    return out


def _held_on(
    rings: list[int], sounds: tuple[HandSound, ...], groups: list[Moment], reach: Reach
) -> frozenset[int]:
    """Hold the notes of broken chords, each until it comes again; return the moments of them."""
    from variants.fingering.broken import broken_chords

    found: set[int] = set()
    for chord in broken_chords(sounds, groups, reach):
        first, last = chord.moments
        found.update(range(first, last + 1))
        again: dict[int, int] = {}
        for one in reversed(groups[first : last + 1]):
            for index in one.members:
                until = again.get(sounds[index].midi, chord.until + 1)
                rings[index] = max(sounds[index].end, until)
                again[sounds[index].midi] = one.onset
    return frozenset(found)


class _Clock:
    """Seconds between two onsets under the tempi of a passage."""

    def __init__(self, passage: Passage) -> None:
        self._ticks = passage.ticks_per_quarter
        self._tempi = sorted({0: passage.quarters_per_minute, **dict(passage.tempi)}.items())

    def between(self, start: int, end: int) -> float:
        if len(self._tempi) == 1:
            return (end - start) * 60.0 / (self._tempi[0][1] * self._ticks)
        return self._at(end) - self._at(start)

    def _at(self, onset: int) -> float:
        seconds = 0.0
        for index, (start, tempo) in enumerate(self._tempi):
            stop = self._tempi[index + 1][0] if index + 1 < len(self._tempi) else onset
            seconds += max(0, min(stop, onset) - start) * 60.0 / (tempo * self._ticks)
        return seconds
