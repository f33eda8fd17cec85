"""One part, voice or staff of a larger score."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import ClassVar, TypeVar

from variants.contract import Promise
from variants.errors import Refusal, UsageError
from variants.music import NoteValue
from variants.score import (
    Attributes,
    Change,
    Clef,
    Direction,
    Event,
    Harmony,
    KeySign,
    Measure,
    Note,
    NoteKey,
    Part,
    Score,
    Transposition,
    Voice,
    events,
    timeline,
    with_parts,
)
from variants.steps.framework.log import count
from variants.steps.framework.reading import parsed, whole
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.dropping import drop_notes

NAME = "choose-part"
_STAFF_OF_DETAILS = re.compile(r"""\snumber=(?:"(\d+)"|'(\d+)')""")


@register(NAME, examples=("choose-part:part=P1", "choose-part:part=P1,voice=1"))
@dataclass(frozen=True, slots=True, kw_only=True)
class ChoosePart(Checked):
    """Keep one part, voice or staff and drop the rest.

    Measures stay as they are; a measure in which the chosen voice or staff has nothing gets a
    measure rest. Ties, slurs and beams that lead out of what is kept are taken away.
    """

    part: str = parameter("", "the part", parsed(str, str, "an id or a name, as in P1 or Guitar"))
    voice: str = parameter("", "the voice", parsed(str, str, "as in the file, often 1"))
    staff: int = parameter(0, "the staff in the part", whole(1, 99, text="1, 2, ..."))
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.PITCH_CLASS_SUBSET})

    def check_together(self) -> None:
        """See `Checked`."""
        if not (self.part or self.voice or self.staff):
            raise UsageError(
                "choose-part is not told what to keep", way_out="give part, voice or staff"
            )

    def __call__(self, score: Score) -> Score:
        """Return the score with what is chosen.

        Raises:
            Refusal: There is no such part, voice or staff, or several parts have the name.
        """
        part = _find(score, self.part)
        changes = _gone_parts(score, part)
        if self.staff:
            part, lines = _one_staff(part, self.staff)
            changes += lines
        if self.voice:
            part, lines = _one_voice(part, self.voice)
            changes += lines
        return with_parts(score, [part], changes)


def _find(score: Score, text: str) -> Part:
    listed = ", ".join(f"{part.id} ({part.name})" if part.name else part.id for part in score.parts)
    if not text:
        if len(score.parts) == 1:
            return score.parts[0]
        raise Refusal(
            f"the score has {count(len(score.parts), 'part')}",
            way_out=f"choose one with part=: {listed}",
        )
    wanted = text.casefold()
    for matches in (
        [part for part in score.parts if part.id == text],
        [part for part in score.parts if part.name == text],
        [part for part in score.parts if wanted in (part.id.casefold(), part.name.casefold())],
    ):
        if len(matches) == 1:
            return matches[0]
        if matches:
            ids = ", ".join(part.id for part in matches)
            raise Refusal(f"several parts are named {text!r}", way_out=f"choose one by id: {ids}")
    raise Refusal(f"there is no part {text!r}", way_out=f"choose one of {listed}")


def _gone_parts(score: Score, kept: Part) -> list[Change]:
    gone = [part.name or part.id for part in score.parts if part is not kept]
    if not gone:
        return []
    return [Change(f"{count(len(gone), 'part')} left out: {', '.join(gone)}", NAME)]


def _one_voice(part: Part, voice_id: str) -> tuple[Part, list[Change]]:
    known = sorted({voice.id for measure in part.measures for voice in measure.voices})
    if voice_id not in known:
        raise Refusal(
            f"part {part.id} has no voice {voice_id!r}",
            way_out=f"choose one of {', '.join(known) or 'none'}",
        )

    def is_other(key: NoteKey) -> bool:
        return part.measures[key[0]].voices[key[1]].id != voice_id

    kept, lines = _without(part, is_other, f"outside voice {voice_id} left out")

    def of_measure(measure: Measure) -> Measure:
        voices = tuple(voice for voice in measure.voices if voice.id == voice_id)
        words = tuple(one for one in measure.directions if one.voice in ("", voice_id))
        return replace(measure, voices=voices or _silence(measure, voice_id), directions=words)

    return replace(kept, measures=tuple(map(of_measure, kept.measures))), lines


def _one_staff(part: Part, staff: int) -> tuple[Part, list[Change]]:
    known = sorted({_staff(event, note) for _, event in events(part) for note in event.notes})
    if staff not in known and staff > part.staves:
        raise Refusal(
            f"part {part.id} has no staff {staff}",
            way_out=f"choose one of {', '.join(map(str, known or [1]))}",
        )

    def is_other(key: NoteKey) -> bool:
        event = part.measures[key[0]].voices[key[1]].events[key[2]]
        return _staff(event, event.notes[key[3]]) != staff

    kept, lines = _without(part, is_other, f"outside staff {staff} left out")

    def of_measure(measure: Measure) -> Measure:
        voices = [_on_staff(voice, staff) for voice in measure.voices]
        sounding = tuple(voice for voice in voices if voice.events)
        return replace(
            measure,
            voices=sounding or _silence(measure, "1"),
            attributes=tuple(_attributes_of(one, staff) for one in measure.attributes),
            harmonies=_on_it(measure.harmonies, staff),
            directions=_on_it(measure.directions, staff),
        )

    return replace(kept, measures=tuple(map(of_measure, kept.measures)), staves=1), lines


def _staff(event: Event, note: Note) -> int:
    return note.staff or event.staff


def _without(
    part: Part, is_other: Callable[[NoteKey], bool], what: str
) -> tuple[Part, list[Change]]:
    """Drop the notes that are not chosen, and say how many."""
    others = {
        (*key, index)
        for key, event in timeline(part).by_key.items()
        for index in range(len(event.notes))
        if is_other((*key, index))
    }
    kept, lines = drop_notes(part, others, step=NAME)
    if others:
        lines.insert(0, Change(f"{count(len(others), 'note')} {what}", NAME, part=part.id))
    return kept, lines


def _silence(measure: Measure, voice_id: str) -> tuple[Voice, ...]:
    if not measure.length:
        return ()
    rest = Event(0, measure.length, NoteValue(""), is_measure_rest=True)
    return (Voice(voice_id, (rest,)),)


def _on_staff(voice: Voice, staff: int) -> Voice:
    """Return what a voice has on a staff, which is the only one from now on."""

    def alone(event: Event) -> Event:
        notes = tuple(replace(note, staff=0) if note.staff else note for note in event.notes)
        return replace(event, staff=1, notes=notes)

    # After `drop_notes` an event with notes has them all on this staff.
    return Voice(
        voice.id,
        tuple(alone(event) for event in voice.events if event.notes or event.staff == staff),
    )


_Placed = TypeVar("_Placed", Clef, KeySign, Transposition, Harmony, Direction)


def _on_it(items: Iterable[_Placed], staff: int, *, now: int = 0) -> tuple[_Placed, ...]:
    """Return what stands on a staff or on none in particular, with its staff number renewed."""
    return tuple(replace(item, staff=now) for item in items if item.staff in (0, staff))


def _attributes_of(one: Attributes, staff: int) -> Attributes:
    return replace(
        one,
        keys=_on_it(one.keys, staff),
        clefs=_on_it(one.clefs, staff, now=1),
        transpositions=_on_it(one.transpositions, staff),
        staves=0,
        details=tuple(
            _STAFF_OF_DETAILS.sub("", text, count=1)
            for text in one.details
            if _details_staff(text) in (0, staff)
        ),
    )


def _details_staff(text: str) -> int:
    head = text.partition(">")[0]
    found = _STAFF_OF_DETAILS.search(head)
    return int(found.group(1) or found.group(2)) if found else 0
