"""The step `open-strings`: the same sound with as many or as few open strings as can be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar

from variants.contract import TIMES, Promise
from variants.errors import Unplayable
from variants.score import Change, Part, Place, Score, Take, with_parts
from variants.steps.framework.log import Scribe, count, scribe
from variants.steps.framework.reading import choice
from variants.steps.framework.registry import Checked, parameter, register
from variants.steps.lines.takes import (
    assumed,
    fold_hint,
    fretted_parts,
    instrument_at,
    placed,
    takes_of,
    with_instrument,
)
from variants.steps.places.neck_search import (
    NeckMoment,
    NeckWishes,
    Shape,
    Stuck,
    best_path,
    moments_of,
    shapes,
)

_NAME = "open-strings"
_PREFER, _AVOID = "prefer", "avoid"
_WISHES = {_PREFER: "seek", _AVOID: "avoid"}
# A change log names so many notes one by one; the rest are counted.
_MOST_LINES = 12


@register(_NAME, examples=("open-strings", "open-strings:use=avoid"))
@dataclass(frozen=True, slots=True, kw_only=True)
class OpenStrings(Checked):
    """Play the same pitches with as many open strings as can be, or with as few.

    ``use=prefer`` takes the open string wherever a note is one, so that the fretting hand has less
    to do; ``use=avoid`` stops every note that has another place, so that a fingering can move
    along the neck. Within that the hand moves as little as it can; what sounds together is a grip
    that a hand of medium size can hold, what is held stays held, and a slide stays on its string.
    Only places are set; the fingers are chosen later.
    """

    use: str = parameter(_PREFER, "what to think of open strings", choice(*_WISHES))
    keeps: ClassVar[frozenset[Promise]] = frozenset({Promise.SOUNDING_PITCHES, *TIMES})

    def __call__(self, score: Score) -> Score:
        """Return the score with every note of its fretted parts at its place.

        Raises:
            Refusal: A note is a microtone.
            Unplayable: The neck has no such note, or no hand can hold what sounds together.
        """
        parts = list(score.parts)
        changes: list[Change] = []
        for index in fretted_parts(score):
            source = score.parts[index]
            part = with_instrument(source)
            log = scribe(_NAME, score, part)
            moments = moments_of(takes_of(part, log), instrument_at(part))
            if not moments:
                continue
            found = best_path(moments, NeckWishes(open_strings=_WISHES[self.use]))
            if isinstance(found, Stuck):
                raise _refusal(moments[found.index], found, log)
            pairs = list(_pairs(moments, found))
            parts[index] = placed(part, pairs)
            changes += assumed(source, _NAME)
            changes += _lines(self.use, part, pairs, log, moments)
        return with_parts(score, parts, changes)


def _pairs(moments: Sequence[NeckMoment], found: Sequence[Shape]) -> Iterator[tuple[Take, Place]]:
    for moment, shape in zip(moments, found, strict=True):
        places = {spot.midi: spot.place for spot in shape}
        for take in moment.takes:
            yield take, places[take.pitch.midi]


def _lines(
    use: str,
    part: Part,
    pairs: Sequence[tuple[Take, Place]],
    log: Scribe,
    moments: Sequence[NeckMoment],
) -> list[Change]:
    opened = sum(not place.fret for _, place in pairs)
    text = f"{opened} of {count(len(pairs), 'note')} on open strings"
    before = _opened_before(part, pairs)
    if before is not None:
        text += f", {before} before"
    lines = [log.overall(text)]
    if use == _PREFER and not any(_is_open(take, moment) for moment, take in _each(moments)):
        lines.append(
            log.overall(
                "no note of this part is an open string: another key, a capo or another tuning"
                " would give some"
            )
        )
    odd = list(_stopped(moments, pairs) if use == _PREFER else _left_open(pairs))
    lines += [log.at(take.measure, take.tick, message) for take, message in odd[:_MOST_LINES]]
    if len(odd) > _MOST_LINES:
        kind = "stopped" if use == _PREFER else "open"
        lines.append(log.overall(f"{len(odd) - _MOST_LINES} more such notes are {kind}"))
    return lines


def _opened_before(part: Part, pairs: Sequence[tuple[Take, Place]]) -> int | None:
    """Return how many notes were on open strings; ``None`` where places were not all set."""
    heads = [take.heads[0] for take, _ in pairs]
    places = [
        part.measures[index].voices[voice].events[event].notes[note].place
        for index, voice, event, note in heads
    ]
    known = [place for place in places if place is not None]
    return sum(not place.fret for place in known) if len(known) == len(places) else None


def _each(moments: Sequence[NeckMoment]) -> Iterator[tuple[NeckMoment, Take]]:
    for moment in moments:
        for take in moment.takes:
            yield moment, take


def _is_open(take: Take, moment: NeckMoment) -> bool:
    return take.pitch.midi in moment.instrument.open_midi


def _stopped(
    moments: Sequence[NeckMoment], pairs: Sequence[tuple[Take, Place]]
) -> Iterator[tuple[Take, str]]:
    """Yield the notes that an open string would sound and that are stopped all the same."""
    for (moment, take), (_, place) in zip(_each(moments), pairs, strict=True):
        if place.fret and _is_open(take, moment):
            cause = "the open string is taken, or the hand could not hold the rest"
            yield take, f"{take.pitch} is stopped on {place}: {cause}"


def _left_open(pairs: Sequence[tuple[Take, Place]]) -> Iterator[tuple[Take, str]]:
    for take, place in pairs:
        if not place.fret:
            cause = "there is no other place for it here"
            yield take, f"{take.pitch} stays on the open string {place.string}: {cause}"


def _refusal(moment: NeckMoment, stuck: Stuck, log: Scribe) -> Unplayable:
    first = moment.takes[0]
    names = {take.pitch.midi: str(take.pitch) for take in moment.takes}
    off = [midi for midi in moment.struck if not shapes((midi,), moment.instrument)]
    if off:
        cause = f"the neck has no {names[off[0]]}"
        way_out = f"{fold_hint()}put transpose:octave=fit before it"
    else:
        together = " ".join(names[midi] for midi in moment.struck)
        held = "" if stuck.alone else " while what came before is held"
        cause = f"no hand can hold {together} together{held}"
        way_out = "put reduce-chords before it"
    place = log.refusal(first.measure, first.tick, cause, way_out=way_out).place
    return Unplayable(cause, place=place, way_out=way_out)
