"""Put the measures of a part into another order and mend what the seams cut.

At a seam (where a measure follows another one than in the source) the measure says again what
holds there; a tie without its other end is undone, and a slur, slide, wedge or line of which one
end is elsewhere is left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from variants.errors import Refusal
from variants.music.pitch import Alteration
from variants.score import Direction, Event, Measure, Part, Score, Voice, with_notes
from variants.score.model import Change
from variants.steps.in_force import InForce, before_each, opened
from variants.steps.links import EventKey, MarkKey, span_links
from variants.steps.log import Scribe, count

# Directions that have an end elsewhere.
_LINES = re.compile(
    r"<direction-type\b[^>]*>\s*<(wedge|dashes|bracket|octave-shift|pedal)\b([^>]*?)/>\s*"
    r"</direction-type>"
)
_TYPE = re.compile(r"\btype=[\"'](\w+)[\"']")
_NUMBER = re.compile(r"\bnumber=[\"'](\w+)[\"']")
_ENDS = {"stop": "stop", "discontinue": "stop", "continue": "continue", "change": "continue"}

# A line's sign: measure, direction in it, place in the direction.
_LineKey = tuple[int, int, int]


def check_measures(score: Score) -> int:
    """Return the number of measures that all parts have.

    Raises:
        Refusal: They have different numbers of them, or none.
    """
    numbers = {len(part.measures) for part in score.parts}
    if len(numbers) > 1:
        raise Refusal(
            "the parts have different numbers of measures", way_out="take one with choose-part"
        )
    return numbers.pop() if numbers else 0


def arranged_part(log: Scribe, order: Sequence[int]) -> tuple[Part, list[Change]]:
    """Return the part with its measures in another order, and what the seams cost.

    Args:
        log: Scribe of the part.
        order: Indices of its measures, each as often as it is wanted.
    """
    part = log.part
    plan = _Plan(part, tuple(order))
    held = before_each(part)
    now = InForce(instrument=part.instrument)
    done: list[Measure] = []
    changes: list[Change] = []
    for place, index in enumerate(order):
        measure = plan.without_cut(place)
        if plan.is_seam(place):
            measure = opened(measure, held[index], now)
        measure, lines = _untied(log, plan, place, measure)
        changes += lines
        done.append(measure)
        now = now.after(measure)
    changes += plan.lines(log)
    return replace(part, measures=tuple(done)), changes


class _Plan:
    """Where the seams are, and which ends of slurs and lines they cut off."""

    def __init__(self, part: Part, order: tuple[int, ...]) -> None:
        self.part = part
        self.order = order
        self.spans = {mark: span for span in span_links(part) for mark in span}
        self.line_spans = {key: span for span in _line_links(part) for key in span}
        self.lost: dict[str, int] = {}

    def is_seam(self, place: int) -> bool:
        """Whether a measure follows another one than in the source, or begins the result."""
        before = self.order[place - 1] if place else -1
        return before != self.order[place] - 1

    def is_end(self, place: int) -> bool:
        """Whether the measure after this one is another than in the source."""
        if place + 1 < len(self.order):
            return self.is_seam(place + 1)
        return self.order[place] + 1 < len(self.part.measures)

    def is_whole(self, place: int, first: int, last: int) -> bool:
        """Whether all measures of a span stand around a place as they do in the source."""
        start = place - (self.order[place] - first)
        wanted = tuple(range(first, last + 1))
        return start >= 0 and self.order[start : start + len(wanted)] == wanted

    def without_cut(self, place: int) -> Measure:
        """Return the measure at a place without ends that have lost their other end."""
        measure = self.part.measures[self.order[place]]
        if not self._may_be_cut(place):
            return measure
        voices = tuple(
            Voice(
                voice.id,
                tuple(
                    self._event(place, (self.order[place], voice_index, event_index), event)
                    for event_index, event in enumerate(voice.events)
                ),
            )
            for voice_index, voice in enumerate(measure.voices)
        )
        directions = [
            self._direction(place, index, one) for index, one in enumerate(measure.directions)
        ]
        kept = tuple(one for one in directions if one is not None)
        return replace(measure, voices=voices, directions=kept)

    def _may_be_cut(self, place: int) -> bool:
        """Whether any span of the measure lacks one of its measures here."""
        index = self.order[place]
        marks = (span for key, span in self.spans.items() if key[0][0] == index)
        lines = (span for key, span in self.line_spans.items() if key[0] == index)
        return any(
            not self.is_whole(place, span[0][0][0], span[-1][0][0]) for span in marks
        ) or any(not self.is_whole(place, span[0][0], span[-1][0]) for span in lines)

    def _event(self, place: int, key: EventKey, event: Event) -> Event:
        marks = tuple(
            mark
            for index, mark in enumerate(event.marks)
            if self._stays(place, (key, -1, index), mark.name)
        )
        notes = tuple(
            replace(
                note,
                marks=tuple(
                    mark
                    for index, mark in enumerate(note.marks)
                    if self._stays(place, (key, owner, index), mark.name)
                ),
            )
            if note.marks
            else note
            for owner, note in enumerate(event.notes)
        )
        if marks == event.marks and notes == event.notes:
            return event
        return replace(with_notes(event, notes), marks=marks)

    def _stays(self, place: int, key: MarkKey, name: str) -> bool:
        span = self.spans.get(key)
        if span is None or self.is_whole(place, span[0][0][0], span[-1][0][0]):
            return True
        self._lose(name)
        return False

    def _direction(self, place: int, index: int, one: Direction) -> Direction | None:
        number = -1

        def kept(found: re.Match[str]) -> str:
            nonlocal number
            number += 1
            span = self.line_spans.get((self.order[place], index, number))
            if span is None or self.is_whole(place, span[0][0], span[-1][0]):
                return found.group(0)
            self._lose(found.group(1))
            return ""

        xml = _LINES.sub(kept, one.xml)
        if xml == one.xml:
            return one
        return replace(one, xml=xml) if xml.strip() or one.sound else None

    def _lose(self, name: str) -> None:
        self.lost[name] = self.lost.get(name, 0) + 1

    def lines(self, log: Scribe) -> Iterator[Change]:
        """Yield the lines that say what was cut."""
        for name, number in sorted(self.lost.items()):
            word = name.replace("-", " ")
            yield log.overall(
                f"{count(number, 'end')} of a {word} left out: its other end stands elsewhere"
            )


def _line_links(part: Part) -> Iterator[tuple[_LineKey, ...]]:
    """Yield the signs that make one line: its start, what continues it, its stop."""
    opened_lines: dict[tuple[str, str], list[_LineKey]] = {}
    for index, measure in enumerate(part.measures):
        ordered = sorted(enumerate(measure.directions), key=lambda one: one[1].onset)
        for place, direction in ordered:
            for number, found in enumerate(_LINES.finditer(direction.xml)):
                kind = _TYPE.search(found.group(2))
                named = _NUMBER.search(found.group(2))
                role = _ENDS.get(kind.group(1), "start") if kind else "start"
                name = (found.group(1), named.group(1) if named else "1")
                key = (index, place, number)
                if role == "start":
                    opened_lines[name] = [key]
                elif name in opened_lines:
                    opened_lines[name].append(key)
                    if role == "stop":
                        yield tuple(opened_lines.pop(name))


# --- ties -----------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Seam:
    """The heights that are tied into a measure and out of it, and stay so."""

    into: tuple[Alteration, ...]
    out: tuple[Alteration, ...]


def _untied(log: Scribe, plan: _Plan, place: int, measure: Measure) -> tuple[Measure, list[Change]]:
    """Return the measure without ties that the seams beside it cut, and the lines about them."""
    cuts_in = place > 0 or plan.order[0] > 0
    cuts_in = cuts_in and plan.is_seam(place)
    cuts_out = plan.is_end(place)
    if not (cuts_in or cuts_out):
        return measure, []
    source = plan.part.measures
    before = source[plan.order[place - 1]] if place else None
    after = source[plan.order[place + 1]] if place + 1 < len(plan.order) else None
    seam = _Seam(
        into=tuple(_tied_out(before)) if before else (),
        out=tuple(_tied_in(after)) if after else (),
    )
    lines: list[Change] = []
    into, out = list(seam.into), list(seam.out)
    voices = []
    for voice in measure.voices:
        events = []
        for event in voice.events:
            changed = event
            if cuts_in and not event.onset and event.grace is None:
                changed = _struck(log, plan.order[place], changed, into, lines)
            if cuts_out and event.end == measure.length:
                changed = _let_go(log, plan.order[place], changed, out, lines)
            events.append(changed)
        voices.append(Voice(voice.id, tuple(events)))
    return replace(measure, voices=tuple(voices)), lines


def _tied_out(measure: Measure) -> Iterator[Alteration]:
    for voice in measure.voices:
        for event in voice.events:
            if event.end == measure.length:
                for note in event.notes:
                    if note.tie_start and note.pitch is not None:
                        yield note.pitch.semitones


def _tied_in(measure: Measure) -> Iterator[Alteration]:
    for voice in measure.voices:
        for event in voice.events:
            if not event.onset and event.grace is None:
                for note in event.notes:
                    if note.tie_stop and note.pitch is not None:
                        yield note.pitch.semitones


def _struck(
    log: Scribe, index: int, event: Event, tied: list[Alteration], lines: list[Change]
) -> Event:
    """Return an event whose notes are struck unless they are tied to one before."""
    notes = []
    for note in event.notes:
        if not note.tie_stop or note.pitch is None:
            notes.append(note)
        elif note.pitch.semitones in tied:
            tied.remove(note.pitch.semitones)
            notes.append(note)
        else:
            text = f"{note.pitch} is held over from another measure in the source: struck here"
            lines.append(log.at(index, event.onset, text))
            notes.append(replace(note, tie_stop=False))
    return with_notes(event, tuple(notes)) if tuple(notes) != event.notes else event


def _let_go(
    log: Scribe, index: int, event: Event, tied: list[Alteration], lines: list[Change]
) -> Event:
    """Return an event whose notes end with the measure unless the next one goes on with them."""
    notes = []
    for note in event.notes:
        if not note.tie_start or note.pitch is None:
            notes.append(note)
        elif note.pitch.semitones in tied:
            tied.remove(note.pitch.semitones)
            notes.append(note)
        else:
            text = f"{note.pitch} sounds on in the source: it ends with its measure here"
            lines.append(log.at(index, event.onset, text))
            notes.append(replace(note, tie_start=False))
    return with_notes(event, tuple(notes)) if tuple(notes) != event.notes else event
