"""The voices of a part as lines of groups: what is struck when, and until when it is held.

Tied events are one note here. These are drafts that `simplify-rhythm` fills and rewrites; they
never leave it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from variants.music.pitch import Alteration
from variants.score import Event, Lyric, Mark, Note, Part


@dataclass(slots=True)
class HeldNote:
    """A note from where it is struck to where its last tied note ends.

    Args:
        note: The note that is struck.
        end: Ticks from the start of the part.
        from_before: It is tied to from something that is not there (another ending).
        goes_on: The tie at its end leads to something that is not there.
        tail_marks: Marks of its tied continuations.
    """

    note: Note
    end: int
    from_before: bool = False
    goes_on: bool = False
    tail_marks: list[Mark] = field(default_factory=list)


@dataclass(slots=True)
class Group:
    """The notes that begin together in one voice, with the grace notes before them.

    Args:
        time: Ticks from the start of the part.
        measure: Index of the measure.
        head: The event as it stood; a rest or grace note if nothing is struck with the graces.
        chains: The notes that begin; none if there are only graces.
        graces: The grace notes before.
        marks: Marks on the first written note.
        tail_marks: Marks on the last written note.
        lyrics: Syllables.
    """

    time: int
    measure: int
    head: Event
    chains: list[HeldNote]
    graces: list[Event]
    marks: list[Mark]
    tail_marks: list[Mark]
    lyrics: list[Lyric]

    @property
    def end(self) -> int:
        """When its last note is over."""
        return max((chain.end for chain in self.chains), default=self.time)

    @property
    def is_stroke(self) -> bool:
        """Whether something begins to sound, grace notes included."""
        return bool(self.graces) or any(not chain.from_before for chain in self.chains)


@dataclass(slots=True)
class Lines:
    """All voices of a part.

    Args:
        voices: Groups in order of time, by voice.
        tails: Grace notes at the very end of a measure, by (measure index, voice).
    """

    voices: dict[str, list[Group]]
    tails: dict[tuple[int, str], list[Event]]

    def groups(self) -> Iterator[Group]:
        """Yield every group, voice by voice."""
        for line in self.voices.values():
            yield from line


_Key = tuple[str, Alteration | None]


class _Reader:
    """Goes once through a part and ties notes together."""

    def __init__(self) -> None:
        self.lines = Lines({}, {})
        # Ties that wait for their other end, by voice and height.
        self.waiting: dict[_Key, tuple[Group, HeldNote]] = {}
        # Marks of tied continuations, with the groups that are held there.
        self.late: list[tuple[list[Group], list[Mark]]] = []

    def measure(self, index: int, start: int, part: Part) -> None:
        measure = part.measures[index]
        moments: list[tuple[int, int, str, Event, list[Event]]] = []
        for order, voice in enumerate(measure.voices):
            self.lines.voices.setdefault(voice.id, [])
            graces: list[Event] = []
            for event in voice.events:
                if event.grace is not None:
                    graces.append(event)
                    continue
                # What is played does not lean on a cue note (see `variants.score.onsets`).
                later = [one for one in graces if event.is_cue and not one.is_cue]
                mine = [one for one in graces if one not in later]
                moments.append((event.onset, order, voice.id, event, mine))
                graces = later
            if graces and voice.events[-1].grace is None:
                moments[-1][4].extend(graces)
            elif graces and graces[-1].onset >= measure.length:
                self.lines.tails[index, voice.id] = graces
            elif graces:
                moments.append((graces[-1].onset, order, voice.id, graces[-1], graces))
        for onset, _, voice_id, event, graces in sorted(moments, key=lambda one: one[:2]):
            self._event(voice_id, (index, start + onset), event, graces)

    def _event(
        self, voice: str, moment: tuple[int, int], event: Event, graces: list[Event]
    ) -> None:
        time = moment[1]
        notes = () if event.grace is not None else event.notes
        chains: list[HeldNote] = []
        held: list[tuple[Note, HeldNote, Group]] = []
        for note in notes:
            found = self._held(voice, note, time) if note.tie_stop else None
            if found is None:
                chains.append(HeldNote(note, time + event.duration, from_before=note.tie_stop))
                continue
            owner, chain = found
            chain.end = time + event.duration
            chain.tail_marks += note.marks
            held.append((note, chain, owner))
        group = self._group(voice, moment, event, (chains, graces))
        if held and not chains:
            marks = [mark for mark in event.marks if mark.family != "tuplet"]
            self.late.append(([owner for _, _, owner in held], marks))
            held[0][2].lyrics += event.lyrics
        if group is not None:
            held += [(chain.note, chain, group) for chain in chains]
        for note, chain, owner in held:
            chain.goes_on = note.tie_start
            if note.tie_start:
                self.waiting[voice, _height(note)] = (owner, chain)

    def _group(
        self,
        voice: str,
        moment: tuple[int, int],
        event: Event,
        content: tuple[list[HeldNote], list[Event]],
    ) -> Group | None:
        chains, graces = content
        if not chains and not graces:
            return None
        sounding = bool(chains)
        group = Group(
            moment[1],
            moment[0],
            event,
            chains,
            graces,
            [mark for mark in event.marks if mark.family != "tuplet"] if sounding else [],
            [],
            list(event.lyrics) if sounding else [],
        )
        self.lines.voices[voice].append(group)
        return group

    def _held(self, voice: str, note: Note, time: int) -> tuple[Group, HeldNote] | None:
        """Return what a tie to this note holds: in its voice, else in another."""
        height = _height(note)
        keys = [(voice, height), *(key for key in self.waiting if key[1] == height)]
        for key in keys:
            found = self.waiting.get(key)
            if found is not None and found[1].end == time:
                del self.waiting[key]
                found[1].goes_on = False
                return found
        return None


def _height(note: Note) -> Alteration | None:
    return note.pitch.semitones if note.pitch is not None else None


def lines_of(part: Part) -> Lines:
    """Return the lines of a part."""
    reader = _Reader()
    start = 0
    for index, measure in enumerate(part.measures):
        reader.measure(index, start, part)
        start += measure.length
    for owners, marks in reader.late:
        # They belong to the notes that end first: those are the last to be written there.
        min(owners, key=lambda group: group.end).tail_marks += marks
    return reader.lines
