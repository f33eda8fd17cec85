"""Compares a variant with its source: which promises it keeps, and where it differs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from variants.contract import Promise, check
from variants.errors import ContractBroken
from variants.music import Interval, Key, spelled
from variants.music.pitch import Alteration
from variants.score import Part, Score, place_text
from variants.score.survey import Moments, PartSurvey, Survey, survey

OCTAVE = 12


@dataclass(frozen=True, slots=True)
class Verdict:
    """One promise.

    Args:
        promise: The promise.
        kept: Whether the variant keeps it.
        place: Where it is first broken, empty if it is kept.
        cause: How, empty if it is kept.
    """

    promise: Promise
    kept: bool
    place: str = ""
    cause: str = ""


@dataclass(frozen=True, slots=True)
class Difference:
    """A moment at which the two do not sound the same notes.

    Args:
        part: Part id.
        place: Measure and beat.
        was: Names of the notes that begin in the source; empty for none.
        now: Names of those that begin in the variant.
    """

    part: str
    place: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Comparison:
    """A variant against its source.

    Args:
        verdicts: One for each promise, in the order of `Promise`.
        interval: Semitones by which all pitch classes moved, ``None`` if not by one interval.
        differences: Every moment that differs, in order of time.
    """

    verdicts: tuple[Verdict, ...]
    interval: int | None
    differences: tuple[Difference, ...]

    @property
    def kept(self) -> tuple[Promise, ...]:
        """The promises that are kept."""
        return tuple(one.promise for one in self.verdicts if one.kept)


def compare(source: Score, variant: Score) -> Comparison:
    """Compare a variant with its source, both at sounding pitch.

    Parts are paired by id; where each has only one part these two are compared.
    """
    if len(source.parts) == len(variant.parts) == 1:
        variant = replace(variant, parts=(replace(variant.parts[0], id=source.parts[0].id),))
    old, new = _survey(source, source), _survey(variant, source)
    interval = _interval(old, new)
    verdicts = tuple(_verdict(promise, old, new, interval or 0) for promise in Promise)
    return Comparison(verdicts, interval, tuple(_differences(old, new)))


def _survey(score: Score, header: Score) -> Survey:
    """Survey the music alone: other titles and faults that a proofreader tells apart are not."""
    same = replace(
        score,
        work_title=header.work_title,
        movement_title=header.movement_title,
        creators=header.creators,
        rights=header.rights,
        source=header.source,
    )
    found = survey(same)
    parts = tuple(
        replace(one, loose_ties=(), misplaced=(), shared_strings=(), overfull=())
        for one in found.parts
    )
    return Survey(same, parts)


def _interval(old: Survey, new: Survey) -> int | None:
    """Return the semitones, -5 to 6, that move every pitch class of the source to the variant's."""
    for semitones in sorted(range(-5, 7), key=abs):
        if _verdict(Promise.SHIFTED_PITCH_CLASSES, old, new, semitones).kept:
            return semitones
    return None


def _verdict(promise: Promise, old: Survey, new: Survey, semitones: int) -> Verdict:
    shift = Interval.of_semitones(semitones)
    try:
        check([promise], old, new, shift=shift, step="it")
    except ContractBroken as error:
        cause = error.cause.removeprefix("it breaks its contract: ")
        return Verdict(promise, kept=False, place=error.place, cause=cause)
    return Verdict(promise, kept=True)


def _differences(old: Survey, new: Survey) -> Iterator[Difference]:
    before = {one.part.id: one for one in old.parts}
    factor = (old.score.ticks, new.score.ticks)
    for now in new.parts:
        was = before.get(now.part.id)
        if was is not None:
            yield from _in_part(was.scaled(factor[1]), now.scaled(factor[0]), new.score)


def _in_part(was: PartSurvey, now: PartSurvey, score: Score) -> Iterator[Difference]:
    nothing: Moments = {}
    for index in range(max(len(was.moments), len(now.moments))):
        old = was.moments[index] if index < len(was.moments) else nothing
        new = now.moments[index] if index < len(now.moments) else nothing
        for moment in sorted(old.keys() | new.keys()):
            before, after = sorted(old.get(moment, ())), sorted(new.get(moment, ()))
            if before != after:
                place = _place(score, now.part, index, moment[0] // now.scale)
                yield Difference(now.part.id, place, _names(before), _names(after))


def _place(score: Score, part: Part, index: int, tick: int) -> str:
    if index >= len(part.measures):
        return f"measure {index + 1} of the source"
    return place_text(score, part, index, tick)


def _names(heights: list[Alteration]) -> str:
    return " ".join(str(spelled(int(height // 1), Key(0))) for height in heights)
