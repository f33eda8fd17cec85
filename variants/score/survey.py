"""One pass over a score that gathers all that contracts compare.

It is written for speed: every arrow of a pipeline needs one. `variants.score.onsets` is the
plain statement of what an onset is, and a test holds the two together.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from variants.music.pitch import Alteration
from variants.score.instrument import Instrument, Place
from variants.score.model import Event, Measure, Note, Part, Score
from variants.score.strung import strings_in_force

# (tick, grace) -> heights on the MIDI scale in the order of the source; see `Onset`.
Moments = dict[tuple[int, int], list[Alteration]]
# (tick, grace) -> what begins there: height, ticks until its last tie ends, place on the neck.
Sounds = dict[tuple[int, int], list[tuple[Alteration, int, Place | None]]]
# Measure index, tick, what is wrong.
Flaw = tuple[int, int, str]


@dataclass(frozen=True, slots=True)
class PartSurvey:
    """What contracts compare of one part.

    Args:
        part: The part.
        scale: What its ticks were multiplied by.
        lengths: Ticks of each measure.
        moments: The onsets of each measure.
        sounds: The same onsets with how long each note lasts and where it is held.
        loose_ties: Ties without their other end.
        misplaced: Places on the neck that do not sound the note's pitch.
        shared_strings: Notes struck on a string that another note needs.
        overfull: Events that overlap in a voice or run past their measure.
    """

    part: Part
    lengths: tuple[int, ...]
    moments: tuple[Moments, ...]
    sounds: tuple[Sounds, ...]
    loose_ties: tuple[Flaw, ...]
    misplaced: tuple[Flaw, ...]
    shared_strings: tuple[Flaw, ...]
    overfull: tuple[Flaw, ...]
    scale: int = 1

    def scaled(self, factor: int) -> PartSurvey:
        """Return the survey as it is with ``factor`` times as many ticks in a quarter."""
        return replace(
            self,
            scale=self.scale * factor,
            lengths=tuple(length * factor for length in self.lengths),
            moments=tuple(
                {(tick * factor, grace): heights for (tick, grace), heights in moments.items()}
                for moments in self.moments
            ),
            sounds=tuple(
                {
                    (tick * factor, grace): [(high, long * factor, at) for high, long, at in notes]
                    for (tick, grace), notes in sounds.items()
                }
                for sounds in self.sounds
            ),
            loose_ties=_scaled(self.loose_ties, factor),
            misplaced=_scaled(self.misplaced, factor),
            shared_strings=_scaled(self.shared_strings, factor),
            overfull=_scaled(self.overfull, factor),
        )


@dataclass(frozen=True, slots=True)
class Survey:
    """What contracts compare of a score."""

    score: Score
    parts: tuple[PartSurvey, ...]


def survey(score: Score) -> Survey:
    """Return all that contracts compare of a score."""
    return Survey(score, tuple(_survey(part) for part in score.parts))


def _scaled(flaws: tuple[Flaw, ...], factor: int) -> tuple[Flaw, ...]:
    return tuple((index, tick * factor, text) for index, tick, text in flaws)


# Start and end in ticks from the start of the part, measure index, tick, note.
_Held = tuple[int, int, int, int, Note]


# Height, ticks so far, place: of a note while its ties are followed.
_Begun = list[Any]


def _survey(part: Part) -> PartSurvey:
    found = _Gathering()
    for index, measure in enumerate(part.measures):
        found.measure(index, measure)
    return PartSurvey(
        part=part,
        lengths=tuple(measure.length for measure in part.measures),
        moments=tuple(found.moments),
        sounds=tuple(found.sounding()),
        loose_ties=tuple(_loose_ties(found.ties)) if found.ties else (),
        misplaced=tuple(_misplaced(part, found.placed)) if found.placed else (),
        shared_strings=tuple(_shared_strings(found.placed)) if found.placed else (),
        overfull=tuple(found.overfull),
    )


class _Gathering:
    """The lists that the pass over one part fills."""

    def __init__(self) -> None:
        self.moments: list[Moments] = []
        self.overfull: list[Flaw] = []
        self.ties: list[_Held] = []
        self.placed: list[_Held] = []
        self.begun: list[dict[tuple[int, int], list[_Begun]]] = []
        self.tied: dict[tuple[int, Alteration], list[_Begun]] = {}
        self.start = 0

    def measure(self, index: int, measure: Measure) -> None:
        """Add one measure."""
        here: Moments = {}
        begun: dict[tuple[int, int], list[_Begun]] = {}
        for voice in measure.voices:
            clock = 0
            waiting: list[list[_Begun]] = []
            for event in voice.events:
                onset = event.onset
                if event.grace is None:
                    end = onset + event.duration
                    if onset < clock or end > measure.length:
                        text = f"voice {voice.id} overlaps itself or runs past the measure"
                        self.overfull.append((index, onset, text))
                    clock = end
                if event.is_cue:
                    continue
                struck = self._struck(index, event) if event.notes else []
                if event.grace is not None:
                    waiting.append(struck)
                    continue
                if waiting:
                    _settle(waiting, onset, begun)
                if struck:
                    begun.setdefault((onset, 0), []).extend(struck)
            if waiting:
                _settle(waiting, voice.events[-1].onset, begun)
        for moment, struck in begun.items():
            here[moment] = [one[0] for one in struck]
        self.moments.append(here)
        self.begun.append(begun)
        self.start += measure.length

    def sounding(self) -> Iterator[Sounds]:
        """Yield what begins in each measure, each note as long as all that is tied to it."""
        for held in sorted(self.ties, key=_by_time):
            start, end, _, _, note = held
            if note.pitch is None or not note.tie_stop:
                continue
            height = note.pitch.semitones
            waiting = self.tied.get((start, height))
            if waiting:
                first = waiting.pop()
                first[1] += end - start
                if note.tie_start:
                    self.tied.setdefault((end, height), []).append(first)
        for begun in self.begun:
            yield {
                moment: [(height, length, place) for height, length, place in struck]
                for moment, struck in begun.items()
            }

    def _struck(self, index: int, event: Event) -> list[_Begun]:
        struck: list[_Begun] = []
        for note in event.notes:
            pitch = note.pitch
            if pitch is None:
                continue
            if not note.tie_stop:
                struck.append([pitch.semitones, event.duration, note.place])
                if note.tie_start:
                    end = self.start + event.end
                    self.tied.setdefault((end, pitch.semitones), []).append(struck[-1])
            if note.tie_stop or note.tie_start:
                self.ties.append(self._held(index, event, note))
            if note.place is not None:
                self.placed.append(self._held(index, event, note))
        return struck

    def _held(self, index: int, event: Event, note: Note) -> _Held:
        start = self.start + event.onset
        return start, start + event.duration, index, event.onset, note


def _settle(
    waiting: list[list[_Begun]], onset: int, begun: dict[tuple[int, int], list[_Begun]]
) -> None:
    for back, struck in enumerate(reversed(waiting), 1):
        if struck:
            begun.setdefault((onset, -back), []).extend(struck)
    waiting.clear()


def _loose_ties(ties: list[_Held]) -> Iterator[Flaw]:
    """Yield the ties that lack an end, in order of time."""
    found: list[Flaw] = []
    # (end, height) of the ties that wait for their other end.
    waiting: dict[tuple[int, Alteration], list[_Held]] = {}
    for held in sorted(ties, key=_by_time):
        start, end, index, tick, note = held
        if note.pitch is None:
            continue
        height = note.pitch.semitones
        if note.tie_stop:
            begun = waiting.get((start, height))
            if begun:
                begun.pop()
            else:
                found.append((index, tick, f"the tie to {note.pitch} begins nowhere"))
        if note.tie_start:
            waiting.setdefault((end, height), []).append(held)
    for left in waiting.values():
        found += [(held[2], held[3], f"the tie from {held[4].pitch} ends nowhere") for held in left]
    yield from sorted(found)


def _by_time(held: _Held) -> tuple[int, int]:
    # Of two notes that begin together the shorter comes first: a tied grace note before its main.
    return held[0], held[1]


def _misplaced(part: Part, placed: list[_Held]) -> Iterator[Flaw]:
    """Yield the places that do not sound the pitch of their note."""
    changes = _instruments(part)
    now, instrument = 0, changes[0][1]
    for start, _, index, tick, note in sorted(placed, key=_by_time):
        while now + 1 < len(changes) and changes[now + 1][0] <= start:
            now += 1
            instrument = changes[now][1]
        place, pitch = note.place, note.pitch
        if place is None or pitch is None:
            continue
        if instrument is None:
            yield index, tick, f"{pitch} has a place on the neck, and the part has no instrument"
        elif not _sounds(instrument, place, pitch.midi):
            yield index, tick, f"{place} does not sound {pitch}"


def _sounds(instrument: Instrument, place: Place, midi: int) -> bool:
    if not 1 <= place.string <= instrument.strings:
        return False
    return instrument.open_midi[place.string - 1] + place.fret == midi and place.fret >= 0


def _instruments(part: Part) -> list[tuple[int, Instrument | None]]:
    """Return (ticks from the start of the part, instrument from there on)."""
    found: list[tuple[int, Instrument | None]] = [(0, part.instrument)]
    start = 0
    for measure, here in strings_in_force(part):
        found += [(start + onset, one) for onset, one in here if one is not found[-1][1]]
        start += measure.length
    return found


def _shared_strings(placed: list[_Held]) -> Iterator[Flaw]:
    """Yield the notes struck on a string that another note still holds.

    The same fret struck in two voices is one note written twice, or struck again while the
    other voice still counts it: a hand plays both.
    """
    busy: dict[int, tuple[int, int]] = {}  # string: (until, fret)
    for start, end, index, tick, note in sorted(placed, key=_by_time):
        place = note.place
        if place is None or start == end:
            continue
        until, fret = busy.get(place.string, (0, -1))
        if start < until and fret != place.fret:
            yield index, tick, f"two notes on string {place.string}"
        busy[place.string] = (max(until, end), place.fret)


def shares_more_strings(before: Part, after: Part, ticks: int) -> bool:
    """Whether notes of a part that sound together share a string oftener than they did before."""
    was, now = (survey(Score(ticks, (one,))).parts[0].shared_strings for one in (before, after))
    return len(now) > len(was)
