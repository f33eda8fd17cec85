"""The one writer of notation: what sounds in a measure becomes values, ties, rests and beams.

Steps say what sounds from when to when, as events of any duration; the writer says how that is
printed. It rests on `spell` (which values), `beams` (which flags are joined) and nothing else.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import gcd

from variants.errors import UsageError
from variants.music import Metre, NoteValue
from variants.score.beams import beams, grace_beams
from variants.score.edit import with_voices
from variants.score.model import Event, Mark, Measure, Note, Part, Voice
from variants.score.spell import Piece, spell
from variants.score.timeline import events as events_of
from variants.score.timeline import measures

_STEMLESS = frozenset({"whole", "breve", "long"})
_BRACKET = {
    role: Mark("tuplet", "tuplet", role, "1", f'<tuplet number="1" type="{role}"/>')
    for role in ("start", "stop")
}


@dataclass(frozen=True, slots=True)
class NotationWriter:
    """Writes one measure.

    Args:
        metre: Metre in force.
        ticks: Ticks in a quarter.
        length: Ticks that the measure lasts.
        shift: Ticks of the metre that are missing before it (a pick-up).
        strict: Refuse a duration that no value can name; else a note stays without a value, and a
            rest stays unwritten.

    >>> writer = NotationWriter(Metre(), 2, 8)
    >>> [str(one.value) for one in writer.filled([Event(3, 3, NoteValue(""), (Note(None),))])]
    ['quarter', 'eighth', 'eighth', 'quarter', 'quarter']
    """

    metre: Metre
    ticks: int
    length: int
    shift: int = 0
    strict: bool = True

    @property
    def is_full(self) -> bool:
        """Whether the measure lasts as long as its metre says."""
        return self.metre.is_measured and self.length == self.metre.quarters * self.ticks

    def values(self, onset: int, duration: int, *, rest: bool = False) -> tuple[Piece, ...]:
        """Return the values that write a duration.

        Raises:
            UsageError: No values do, and the writer is strict.
        """
        if duration <= 0:
            return ()
        try:
            return spell(onset, duration, self.metre, ticks=self.ticks, shift=self.shift, rest=rest)
        except UsageError:
            if self.strict:
                raise
            return () if rest else ((onset, duration, NoteValue("")),)

    def tied(self, event: Event) -> Iterator[Event]:
        """Yield an event in values that last as long as it does, tied where it takes several.

        What belongs to the stroke (marks, syllables, fingers) stands with the first of them.
        """
        quarters = event.value.quarters
        if event.grace is not None or (quarters and quarters * self.ticks == event.duration):
            yield event
            return
        pieces = self.values(event.onset, event.duration)
        last = len(pieces) - 1
        for number, (onset, duration, value) in enumerate(pieces):
            one = event if number == 0 else held_on(event)
            notes = one.notes
            if number < last:
                notes = tuple(replace(note, tie_start=True) for note in notes)
            stem = "" if value.type in _STEMLESS else one.stem
            yield replace(one, onset=onset, duration=duration, value=value, notes=notes, stem=stem)

    def rests(self, start: int, end: int, like: Event | None = None) -> Iterator[Event]:
        """Yield rests from one tick to another; a whole measure takes one.

        Args:
            start: Ticks from the start of the measure.
            end: See ``start``; no later than ``start`` for no rest.
            like: Event whose staff and looks they take.
        """
        staff, extras = (like.staff, like.extras if like.is_rest else ()) if like else (1, ())
        if start == 0 and end == self.length and self.is_full:
            yield Event(0, end, NoteValue(), (), staff, is_measure_rest=True, extras=extras)
            return
        for onset, duration, value in self.values(start, end - start, rest=True):
            yield Event(onset, duration, value, (), staff, extras=extras)

    def filled(
        self, events: Iterable[Event], *, like: Event | None = None, kept: Iterable[Event] = ()
    ) -> Iterator[Event]:
        """Yield events in order of time as values, with rests in the gaps between them.

        Args:
            events: What sounds, grace notes too, in order of time.
            like: Rest that the others are to look like; else they take the staff of their
                neighbours.
            kept: Rests that stay as they are where they fill just the gap.
        """
        as_is = {(rest.onset, rest.end): rest for rest in kept}
        clock, neighbour = 0, like
        for event in (*events, None):
            until = self.length if event is None else event.onset
            neighbour = like or event or neighbour
            if (clock, until) in as_is:
                yield as_is[clock, until]
            else:
                yield from self.rests(clock, until, neighbour)
            if event is not None:
                yield from self.tied(event)
                clock = max(clock, event.end)

    def bracketed(self, events: Sequence[Event]) -> list[Event]:
        """Return the events with a bracket over each run of tuplet notes.

        A run goes from where it leaves the plain beat to where it returns.
        """
        found = [*events]
        run: list[int] = []
        for index, event in enumerate(events):
            if not event.value.is_tuplet or event.grace is not None:
                run = []
                continue
            run.append(index)
            below = self.ticks // gcd(event.end + self.shift, self.ticks)
            if below & (below - 1) == 0:
                if len(run) > 1:
                    for place, role in ((run[0], "start"), (run[-1], "stop")):
                        marked = found[place]
                        found[place] = replace(marked, marks=(*marked.marks, _BRACKET[role]))
                run = []
        return found

    def beamed(self, events: Sequence[Event]) -> tuple[Event, ...]:
        """Return the events of one voice with their beams drawn anew."""
        found = beams(events, self.metre, ticks=self.ticks, shift=self.shift)
        return tuple(
            event if event.beams == values else replace(event, beams=values)
            for event, values in zip(events, found, strict=True)
        )

    def beamed_measure(self, measure: Measure) -> Measure:
        """Return the measure with the beams of all its voices drawn anew."""
        voices = tuple(Voice(voice.id, self.beamed(voice.events)) for voice in measure.voices)
        return measure if voices == measure.voices else with_voices(measure, voices)


def writers(part: Part, ticks: int, *, strict: bool = True) -> list[NotationWriter]:
    """Return the writer of each measure of a part."""
    return [
        NotationWriter(view.metre, ticks, view.measure.length, view.shift, strict)
        for view in measures(part, ticks)
    ]


def with_beams(part: Part, ticks: int) -> Part:
    """Return a part that has no beam anywhere with those of its metre, grace notes' among them.

    A source that has some beams has said where it wants flags.
    """
    if any(event.beams for _, event in events_of(part)):
        return part
    done = []
    for measure, writer in zip(part.measures, writers(part, ticks), strict=True):
        voices = [
            Voice(
                voice.id,
                tuple(
                    replace(event, beams=values) if values else event
                    for event, values in zip(voice.events, grace_beams(voice.events), strict=True)
                ),
            )
            for voice in measure.voices
        ]
        done.append(writer.beamed_measure(with_voices(measure, tuple(voices))))
    return replace(part, measures=tuple(done))


def held_on(event: Event) -> Event:
    """Return what goes on of an event behind a tie: notes, without what belongs to the stroke.

    A shape of the note heads stays; fingers and plucking fingers are not printed twice.
    """
    notes = tuple(
        Note(
            note.pitch,
            tie_stop=True,
            tie_start=note.tie_start,
            place=note.place,
            staff=note.staff,
            extras=tuple(extra for extra in note.extras if extra.name in _HEADS),
        )
        for note in event.notes
    )
    return replace(event, notes=notes, marks=(), lyrics=(), extras=(), beams=())


_HEADS = frozenset({"notehead", "unpitched"})


def cut_at(event: Event, tick: int) -> tuple[Event, Event]:
    """Return the two parts of an event that a tick lies in, tied; neither has a value yet."""
    first, second = event, held_on(event) if event.notes else event
    notes = tuple(replace(note, tie_start=True) for note in event.notes)
    none = NoteValue("")
    return (
        replace(first, duration=tick - event.onset, notes=notes, value=none, beams=()),
        replace(second, onset=tick, duration=event.end - tick, value=none),
    )
